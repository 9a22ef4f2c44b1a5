"""The command line: what it lists, what it loads, and that it needs no checkout."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import click
import pytest
from front_door import PLANS, ROOT, environment, run

from companion.cli import FUNCTIONS, group, libraries, main


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_command_listed_is_there(name: str) -> None:
    """What the table names is a command of that name that explains itself."""
    command = group.get_command(click.Context(group), name)
    assert command is not None
    assert (command.name, bool(command.help)) == (name, True)


def test_help_lists_each_command_on_one_line(tmp_path: Path) -> None:
    """Every command stands once, with what it does, and no line is torn."""
    printed = run(tmp_path, "--help").stdout
    listed = [line.split(maxsplit=1) for line in printed.splitlines() if line.startswith("  ")]
    told = {words[0]: words[1] for words in listed if words[0] in FUNCTIONS}
    assert list(told) == list(FUNCTIONS)
    assert all(text[0].isupper() and text.endswith(".") for text in told.values())


def _loaded(home: Path, *arguments: str | Path) -> list[str]:
    """Return the modules that a command has loaded when it ends, its input ended from the start."""
    program = (
        "import sys; from companion.cli import main\ntry: main()\nfinally: print(*sys.modules)"
    )
    printed = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        env=environment(home),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    ).stdout
    return printed.splitlines()[-1].split()


def test_help_loads_no_command(tmp_path: Path) -> None:
    """Asking what there is waits for nothing that only a command needs."""
    loaded = _loaded(tmp_path, "--help")
    ours = {"cli", "base", "base.errors", "base.text"}
    assert {each for each in loaded if "companion." in each} == {f"companion.{o}" for o in ours}
    assert "pydantic" not in loaded


def test_a_walk_loads_nothing_that_only_its_libraries_ask_for(tmp_path: Path) -> None:
    """Plugins would be looked for among the packages, before the first line and for nothing."""
    loaded = _loaded(tmp_path, "thread", PLANS / "first-try.toml", "--text")
    assert "pydantic.plugin._loader" in loaded
    assert not {"_hashlib", "importlib.metadata", "secrets", "tempfile", "zoneinfo"} & set(loaded)


def test_what_was_left_out_is_there_when_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where somebody wants plugins after all, the packages are looked through for them."""
    for name in ("importlib.metadata", "pydantic.plugin._loader"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.setenv("PYDANTIC_DISABLE_PLUGINS", "")
    libraries.load()
    loader = sys.modules["pydantic.plugin._loader"]
    assert "importlib.metadata" not in sys.modules
    assert not list(loader.get_plugins())
    assert sys.modules["importlib.metadata"].version("click")


def test_a_command_that_is_none_is_named(tmp_path: Path) -> None:
    """One line says what came, what is like it, and where to look."""
    result = run(tmp_path, "thraed")
    assert result.returncode == 2
    assert result.stderr == (
        'There is no command "thraed". Did you mean thread? They are listed by: companion --help\n'
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["check"], "Missing argument 'PLAN'. How it is written: companion check --help"),
        (
            ["thread", PLANS, "--audio-out", "x.mp3"],
            "expected a name that ends in .wav, not x.mp3.",
        ),
        (
            ["thread", PLANS, "--audio-out", PLANS / "first-try.toml"],
            "that ends in .wav, not first-try.toml.",
        ),
        (["yarn", "sett", "--wrap"], "companion yarn sett --help"),
        (["print", PLANS, "--to"], "requires an argument. How it is written: companion print --h"),
        (["check", PLANS, "b.toml"], "argument (b.toml). How it is written: companion check"),
        (["settings", "weavers.\udce4"], "There is no setting weavers.?."),
        (["settings", "--reset"], "Expected one KEY to put back, as in: companion settings"),
        (["settings", "--reset", "speech.numbers", "words"], "Expected one KEY to put back"),
        (["settings", "speech.vioce"], "Did you mean speech.voice?"),
        (["settings", "speech.rate"], "There are speech.engine, speech.voice, speech."),
        (["settings", "words_per_minut"], "Did you mean speech.words_per_minute?"),
        (["models", "add", "none.zip"], "none.zip: there is no such file. Give a model's ZIP"),
        (["--loud"], "How it is written: companion --help"),
        (
            ["thread", PLANS, "--rate", "fast"],
            ': expected a whole number from 80 to 450, not "fast".',
        ),
        (["thread", PLANS, "--rate", "500"], 'number from 80 to 450, not "500".'),
        (["mend", PLANS, "--group", "0"], 'expected a whole number from 1 up, not "0".'),
        (["print", PLANS, "--pause", "nan"], 'expected a number from 0 to 60, not "nan".'),
        (["thread", PLANS, "--step", "30"], 'dent or group, not "30". How it is written'),
    ],
)
def test_a_command_written_wrong_is_told_in_one_line(
    tmp_path: Path, words: list[str | Path], told: str
) -> None:
    """As every other mistake is, so that a screen reader has one thing to say."""
    result = run(tmp_path, *words)
    assert (result.returncode, result.stdout, result.stderr.count("\n")) == (2, "", 1)
    assert told in result.stderr


def test_a_sound_is_written_over_nothing(tmp_path: Path) -> None:
    """As no other file is; it was a recording of the weaver's own."""
    (tmp_path / "own.wav").write_text("mine")
    told = run(tmp_path, "thread", PLANS / "first-try.toml", "--audio-out", tmp_path / "own.wav")
    assert (
        told.stderr
        == f"{tmp_path / 'own.wav'} exists already. Name another file, or move it first.\n"
    )
    assert (tmp_path / "own.wav").read_text() == "mine"


def test_letters_that_a_terminal_has_not_stop_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A title in Greek on a terminal, or in a pipe, that takes Latin letters alone."""
    plan = tmp_path / "plan.toml"
    plan.write_text((PLANS / "first-try.toml").read_text().replace('title = "', 'title = "\u03a9 '))
    shown = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(shown, encoding="latin-1"))
    monkeypatch.setattr(sys, "argv", ["companion", "check", str(plan)])
    with pytest.raises(SystemExit) as ended:
        main()
    sys.stdout.flush()
    assert ended.value.code == 0
    assert shown.getvalue().startswith(b"? ")


def test_a_closed_input_is_an_empty_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Python then has no standard input at all; it is told as where a pipe is empty."""
    monkeypatch.setattr(sys, "stdin", None)
    monkeypatch.setattr(sys, "argv", ["companion", "pedal", "learn"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    assert capsys.readouterr().err.startswith("Expected a terminal to learn a pedal in")


def test_a_closed_output_is_one_that_nobody_reads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A walk was refused as a fault inside; its steps are kept as ever."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stdin", io.StringIO("done\n"))
    monkeypatch.setattr(
        sys, "argv", ["companion", "thread", str(PLANS / "first-try.toml"), "--text"]
    )
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0
    assert "step 1 of 40" in run(tmp_path, "sessions").stdout


def test_the_demo_walks_with_nothing_given(tmp_path: Path) -> None:
    """Without a name the small warp is walked; a name that is none is told, with those there."""
    walked = run(tmp_path, "demo", "--text", lines=["done"])
    assert "End 2: shaft 2, dent 2." in walked.stdout
    names = run(tmp_path, "demo", "--list").stdout.split()
    assert names == sorted(path.stem for path in PLANS.glob("*.toml"))
    refused = run(tmp_path, "demo", "rug")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert f"Expected one of {', '.join(names)}, not rug." in refused.stderr


def test_the_demo_plans_can_be_taken_out(tmp_path: Path) -> None:
    """Copied they are plans like any others; nothing that is there already is written over."""
    folder = tmp_path / "mine"
    assert run(tmp_path, "demo", "--to", folder).returncode == 0
    assert {path.name for path in folder.iterdir()} == {path.name for path in PLANS.iterdir()}
    assert run(tmp_path, "check", folder / "lattice-scarf.toml").returncode == 0
    again = run(tmp_path, "demo", "--to", folder)
    assert again.returncode == 2
    assert "exists already" in again.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel from a copy of the sources."""
    source = tmp_path_factory.mktemp("source")
    for name in ("companion", "plans", "models/untaught"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    built = "import sys; from setuptools.build_meta import build_wheel as b; b(sys.argv[1])"
    target = source.parent
    command: list[str | Path] = [sys.executable, "-c", built, target]
    subprocess.run(command, cwd=source, capture_output=True, check=True, timeout=250)
    (path,) = target.glob("companion-*.whl")
    return path


_OF_DOCUMENTATION = {"__pycache__", "screenshots", "README.md", "lattice-scarf.svg"}


def test_the_wheel_has_all_that_is_needed(wheel: Path) -> None:
    """Every module, page, font and demo plan of the checkout is in it, and no more of ours.

    The pictures that only the documentation shows stay out.
    """
    names = zipfile.ZipFile(wheel).namelist()
    packed = {name for name in names if name.startswith("companion/")}
    here = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "companion").rglob("*")
        if path.is_file() and not _OF_DOCUMENTATION & set(path.parts)
    }
    assert packed == here
    plans = {name.rpartition("/")[2] for name in names if "/share/companion/plans/" in name}
    assert plans == {path.name for path in PLANS.iterdir()}
    weights = {name.rpartition("/")[2] for name in names if "/models/untaught/" in name}
    assert weights == {path.name for path in (ROOT / "models/untaught").iterdir()}


def test_an_installed_wheel_walks_the_demo(wheel: Path, tmp_path: Path) -> None:
    """Installed somewhere else, with no checkout about, the demo is there."""
    prefix = tmp_path / "installed"
    options = ("--quiet", "--no-deps", "--no-index", "--ignore-installed", "--no-compile")
    command: list[str | Path] = [sys.executable, "-m", "pip", "install", *options]
    command += ["--prefix", prefix, wheel]
    subprocess.run(command, capture_output=True, check=True, timeout=250)
    (library,) = prefix.glob("l*/**/site-packages")
    walked = subprocess.run(
        [sys.executable, "-m", "companion", "demo", "--text"],
        input="done\n",
        cwd=tmp_path,
        env={**environment(tmp_path / "home"), "PYTHONPATH": os.fspath(library)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert walked.stderr == ""
    assert "End 2: shaft 2, dent 2." in walked.stdout
    asked = (
        "from companion.devices.recogniser.head import read_weights, weights_file; "
        "print(weights_file('en'), len(read_weights(weights_file('en'))['classes']))"
    )
    told = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=tmp_path,
        env={**environment(tmp_path / "home"), "PYTHONPATH": os.fspath(library)},
        capture_output=True,
        text=True,
        check=True,
    )
    path, classes = told.stdout.rsplit(maxsplit=1)
    assert Path(path).is_relative_to(prefix)
    assert int(classes) > 30
