"""The settings file: read, refused with a mend, described, changed, written whole."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest
from front_door import run
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from pydantic import ValidationError

from companion.base.errors import SettingsError
from companion.settings import (
    Settings,
    describe,
    load,
    load_usable,
    reset_value,
    save,
    set_value,
    settings_path,
)
from companion.settings.schema import SettingsTable, Weaver

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a settings file would be."""
    return tmp_path / "deep" / "settings.toml"


def _write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_without_a_file_the_defaults_hold(path: Path) -> None:
    """No file is no fault."""
    assert load(path) == Settings()
    assert (Settings().speech.words_per_minute, Settings().walk.break_minutes) == (160, 25)


def test_the_environment_moves_the_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """COMPANION_HOME names the folder; without it the user's configuration folder is used."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    assert settings_path() == tmp_path / "settings.toml"
    monkeypatch.delenv("COMPANION_HOME")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    assert settings_path().name == "settings.toml"
    assert "companion" in str(settings_path().parent)


def test_what_is_saved_is_loaded(path: Path) -> None:
    """A saved change comes back, and only the change is in the file, as plain TOML."""
    settings = set_value(Settings(), "speech.words_per_minute", "180")
    settings = set_value(settings, "keys.bindings.page down", "done")
    save(settings, path)
    assert load(path) == settings
    assert tomllib.loads(path.read_text()) == {
        "speech": {"words_per_minute": 180},
        "keys": {"bindings": {"page down": "done"}},
    }
    assert path.read_text().startswith("# Settings of companion.")


@hypothesis_settings(deadline=None)  # the disk sets the pace
@given(
    st.integers(80, 450),
    st.booleans(),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    st.dictionaries(
        st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8),
        st.sampled_from(["done", "back", "", "read back group 3"]),
        max_size=4,
    ),
)
def test_any_settings_survive_the_file(
    tmp_path_factory: pytest.TempPathFactory,
    rate: int,
    letters: bool,  # noqa: FBT001 - hypothesis fills it
    device: str,
    bindings: dict[str, str],
) -> None:
    """Whatever text is in them, settings come back from the file as they went in."""
    path = tmp_path_factory.getbasetemp() / "survive.toml"
    settings = Settings.model_validate(
        {
            "speech": {"words_per_minute": rate},
            "audio": {"output_device": device},
            "keys": {"letters": letters, "bindings": bindings},
        }
    )
    save(settings, path)
    assert load(path) == settings


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "[speech]\n\nwords_per_minute = 500\n",
            (
                "line 3: speech.words_per_minute: expected a number from 80 to 450, not 500. "
                "Mend that line, or delete it for the default."
            ),
        ),
        (
            '[speech]\nwords_per_minute = "fast"\n',
            "line 2: speech.words_per_minute: expected a number from 80 to 450, not 'fast'. ",
        ),
        (
            '[hearing]\nrecogniser = "magic"\n',
            (
                "line 2: hearing.recogniser: expected one of auto, vosk, taught, untaught, off, "
                "not 'magic'. "
            ),
        ),
        (
            "[speech]\nword_per_minute = 200\n",
            (
                "line 2: there is no setting speech.word_per_minute. "
                "Did you mean speech.words_per_minute?"
            ),
        ),
        ("[walk]\nstep = 4\n", "line 2: walk.step: expected text in quotation marks, not 4. Mend"),
        ('speech = "loud"\n', "line 1: speech: expected the table [speech], not 'loud'. "),
        ("speech.words_per_minute = 5\n", "line 1: speech.words_per_minute: expected a number"),
        (
            "\nspeech = { words_per_minute = 5 }\n",
            "line 2: speech.words_per_minute: expected a number",
        ),
        ("[weaving]\nfast = true\n", "line 1: there is no setting weaving. "),
        (
            '[weavers."Anna B."]\nnumbers = "both"\nwords_per_minute = 9\n',
            "line 3: weavers.Anna B..words_per_minute: expected a number from 80 to 450, not 9. ",
        ),
        (
            "[weavers.anna]\nshuttle = 2\n",
            (
                "line 2: there is no setting weavers.anna.shuttle. Expected weavers.NAME and one "
                "of: engine, voice, words_per_minute, numbers, step, detail, pace_seconds."
            ),
        ),
        ("weavers = 3\n", "line 1: weavers: expected the table [weavers], not 3. "),
        ("[walk]\ncautions = 7\n", "line 2: walk.cautions: expected on or off, not 7. "),
        (
            '[keys.bindings]\nf13 = "dnoe"\n',
            'line 1: keys.bindings: expected a command for the key f13, not "dnoe"; one of: done,',
        ),
        ('[hearing]\nlanguage = "xx"\n', "line 2: hearing.language: expected one of en, "),
    ],
)
def test_a_wrong_setting_is_named_with_its_line(path: Path, text: str, told: str) -> None:
    """The key, its line, what was expected, what came and what to do stand in one line."""
    with pytest.raises(SettingsError) as caught:
        load(_write(path, text))
    assert str(caught.value).startswith(f"{path}, {told}")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("content", [b"[speech\n", b"\xff\xfe\x00", b"a = 1\na = 2\n"])
def test_a_file_that_is_no_toml_is_refused(path: Path, content: bytes) -> None:
    """A broken file is one line naming the file, never a traceback, and is not touched."""
    _write(path, "")
    path.write_bytes(content)
    with pytest.raises(SettingsError) as caught:
        load(path)
    assert str(caught.value).startswith(f"{path}: expected ")
    assert "\n" not in str(caught.value)
    assert path.read_bytes() == content


def test_what_can_be_used_is_used_and_the_rest_is_told(path: Path) -> None:
    """Wrong settings take their defaults, each told; the right ones beside them hold."""
    _write(
        path,
        '[speech]\nwords_per_minute = 9\nvoice = "en-gb"\n[walk]\nstep = 0\n[nonsense]\na = 1\n',
    )
    settings, faults = load_usable(path)
    assert settings == set_value(Settings(), "speech.voice", "en-gb")
    places = [fault.removeprefix(f"{path}, ").split(": ")[0] for fault in faults]
    assert places == ["line 2", "line 5", "line 6"]


@hypothesis_settings(deadline=None)  # the disk sets the pace
@given(st.text(max_size=80))
def test_any_text_is_settings_or_one_report(
    tmp_path_factory: pytest.TempPathFactory, text: str
) -> None:
    """No content of the file raises anything but a report."""
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    settings, faults = load_usable(path)
    assert settings == Settings() or not faults


@pytest.mark.parametrize(
    ("key", "text", "expected"),
    [
        ("speech.words_per_minute", "180", 180),
        ("speech.tones", "off", False),
        ("walk.ask_counts", "no", False),
        ("hearing.headphones", "yes", True),
        ("pedal.dead_time_seconds", "0.8", 0.8),
        ("speech.voice", "en-us", "en-us"),
        ("hearing.recogniser", "off", "off"),
    ],
)
def test_values_are_set_from_words(key: str, text: str, expected: object) -> None:
    """What the weaver types becomes a number, a yes or no, or a text."""
    table, name = key.split(".")
    changed = set_value(Settings(), key, text)
    assert getattr(getattr(changed, table), name) == expected
    assert reset_value(changed, key) == Settings()


def test_bindings_are_set_and_taken_away() -> None:
    """One binding is set by its key, even a key with a dot or a space in it."""
    changed = set_value(Settings(), "pedal.bindings.f13 hold", "repeat")
    changed = set_value(changed, "pedal.bindings..", "back")
    assert changed.pedal.bindings == {"f13 hold": "repeat", ".": "back"}
    assert reset_value(changed, "pedal.bindings..").pedal.bindings == {"f13 hold": "repeat"}


def test_a_weaver_has_settings_of_her_own(path: Path) -> None:
    """They hold for her alone, however her name is typed, and are described, kept and reset."""
    everyone = set_value(Settings(), "speech.voice", "en-us")
    save(set_value(everyone, "weavers.Anna B..words_per_minute", "220"), path)
    both = load(path)
    assert both.of("anna  b.").speech.words_per_minute == 220
    assert both.of("Anna B.").speech.voice == "en-us"
    assert both.of("").speech == both.of("Bert").speech == everyone.speech
    assert tomllib.loads(path.read_text())["weavers"] == {"Anna B.": {"words_per_minute": 220}}
    assert describe(both)[-1] == (
        "weavers.Anna B..words_per_minute",
        "220",
        "Speed of the speech for her, in words a minute. Expected: a number from 80 to 450.",
    )
    again = set_value(both, "weavers.ANNA B..words_per_minute", "240")
    assert again.of("Anna B.").speech.words_per_minute == 240
    assert again.weavers.keys() == both.weavers.keys()
    mine = reset_value(again, "weavers.Anna B..words_per_minute").of("Anna B.")
    assert mine.speech == everyone.speech


def test_what_a_weaver_may_have_of_her_own_is_in_one_other_table() -> None:
    """A field of hers that no table has would change nothing; one in two tables, too much."""
    tables = [
        type(table).model_fields for _, table in Settings() if isinstance(table, SettingsTable)
    ]
    for name in Weaver.model_fields:
        assert sum(name in fields for fields in tables) == 1, name


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        (
            "weavers.anna.words_per_minute",
            "9",
            "weavers.anna.words_per_minute: expected a number from 80 to 450, not '9'. It stays",
        ),
        ("weavers.anna.loom", "9", "There is no setting weavers.anna.loom. Expected weavers.NAME"),
        ("weavers", "9", "There is no setting weavers. Expected weavers.NAME and one of: engine,"),
        (
            "speech.words_per_minute",
            "9",
            (
                "speech.words_per_minute: expected a number from 80 to 450, not '9'. "
                "It stays as it was."
            ),
        ),
        ("speech.word", "9", "There is no setting speech.word. Did you mean speech."),
        ("zzz", "9", "There is no setting zzz. List them: companion settings"),
        ("walk.cautions", "maybe", "walk.cautions: expected on or off, not 'maybe'."),
        (
            "keys.bindings.f13",
            "jump",
            'keys.bindings.f13: expected a command for the key f13, not "jump"; one of: done',
        ),
    ],
)
def test_a_value_that_does_not_fit_changes_nothing(key: str, text: str, told: str) -> None:
    """A wrong key or value is one line; settings are frozen, so nothing has changed."""
    with pytest.raises(SettingsError) as caught:
        set_value(Settings(), key, text)
    assert str(caught.value).startswith(told)


def test_settings_are_frozen() -> None:
    """Nobody changes a setting behind the weaver's back."""
    with pytest.raises(ValidationError):
        Settings().speech.voice = "other"


def test_every_setting_is_described() -> None:
    """Each setting has a key, a value and a meaning in a sentence with what it may be."""
    rows = describe(set_value(Settings(), "walk.step", "4"))
    fields = sum(
        len(table.model_dump()) for _, table in Settings() if isinstance(table, SettingsTable)
    )
    assert len(rows) == fields
    assert all(row.meaning.endswith(".") and "None" not in row.meaning for row in rows)
    usual = {row.key: row.value for row in describe(Settings())}
    assert [row.key for row in rows if row.value != usual[row.key]] == ["walk.step"]
    assert rows[2].meaning == (
        "Speed of the speech in words a minute. Expected: a number from 80 to 450."
    )


def test_remarks_of_the_weaver_are_not_lost(path: Path) -> None:
    """Saving over a file with remarks keeps the old one beside it."""
    old = '# mine\n[speech]\nvoice = "en"  # the kind one\n'
    save(set_value(load(_write(path, old)), "walk.step", "2"), path)
    assert path.with_suffix(".toml.bak").read_text() == old
    save(set_value(load(path), "walk.step", "3"), path)
    assert path.with_suffix(".toml.bak").read_text() == old


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """Where nothing can be written the error names the place, and the old file stays."""
    blocker = tmp_path / "file"
    blocker.write_text("not a folder")
    with pytest.raises(SettingsError, match="Expected to write the settings to"):
        save(Settings(), blocker / "settings.toml")
    assert list(tmp_path.iterdir()) == [blocker]


def test_a_table_of_settings_is_shown_by_its_name(tmp_path: Path) -> None:
    """All in it, and nothing for a name that only begins like a setting's."""
    shown = run(tmp_path, "settings", "hearing").stdout.splitlines()
    assert [line.partition(":")[0] for line in shown] == [
        "hearing.recogniser",
        "hearing.language",
        "hearing.headphones",
    ]
    assert run(tmp_path, "settings", "speech.voices").returncode == 2


def test_what_a_weaver_has_not_of_her_own_is_told(tmp_path: Path) -> None:
    """After it was put back too, which was refused in words of a wrong value, and yet done."""
    key = "weavers.Anna.words_per_minute"
    assert run(tmp_path, "settings", key, "200").stdout.startswith(f"{key}: 200.")
    for words in (("--reset", key), (key,)):
        told = run(tmp_path, "settings", *words)
        assert (told.returncode, told.stdout) == (0, f"{key}: not set.\n")
    assert run(tmp_path, "settings", "weavers.Anna.loom").returncode == 2


def test_a_wrong_setting_is_mended_by_the_command_that_sets_it(tmp_path: Path) -> None:
    """Nobody need edit the file for it; another wrong one beside it is not thrown away."""
    file, key = tmp_path / "settings.toml", "speech.words_per_minute"
    for words in ((key, "200"), ("--reset", key)):
        file.write_text("[speech]\nwords_per_minute = 5\ntones = false\n")
        assert run(tmp_path, "settings", *words).returncode == 0
        assert load(file).speech.tones is False
    file.write_text("[speech]\nwords_per_minute = 5\n[walk]\nstep = 4\n")
    told = run(tmp_path, "settings", key, "200")
    assert (told.returncode, told.stderr.count("\n")) == (2, 1)
    assert "walk.step" in told.stderr
    assert "words_per_minute = 5" in file.read_text()
