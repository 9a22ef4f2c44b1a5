"""The models on this machine: adding, listing and choosing them. Nothing here uses the network."""

import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock

from companion.base import home
from companion.base.errors import ModelError
from companion.base.files import flush_folder, make_folder
from companion.base.value import Value
from companion.devices.recogniser import archive
from companion.devices.recogniser.head import FOLDER as OWN_WEIGHTS
from companion.devices.recogniser.layout import find_root, layout_faults
from companion.devices.recogniser.record import (
    Record,
    hash_file,
    hashes,
    plainly,
    read_record,
    write_record,
)
from companion.devices.recogniser.trial import trial_faults

_REPOSITORY = Path(__file__).parents[3]
_NAME = re.compile(r"[\w][\w.-]{0,79}")
_LANGUAGE = re.compile(r"(?:^|[-_])([a-z]{2})(?=[-_]|$)")
_TEMPORARY = ".adding-"


class Installed(Value):
    """One model in the models folder."""

    folder: Path
    record: Record | None
    """None for a folder that was copied in by hand."""
    size_bytes: int
    faults: tuple[str, ...]
    """Why it cannot be used, one line each, as far as a look shows; `record.faults` reads all."""

    @property
    def name(self) -> str:
        """The folder's name."""
        return self.folder.name

    @property
    def language(self) -> str:
        """Two letters, "" where not known."""
        return self.record.language if self.record else guess_language(self.name)


def default_folder() -> Path:
    """Return where models are kept: COMPANION_HOME, a checkout's models folder, or user data."""
    if not os.environ.get(home.VARIABLE) and (_REPOSITORY / "models" / "README.md").is_file():
        return _REPOSITORY / "models"
    return home.data() / "models"


def add(
    source: Path,
    folder: Path,
    *,
    name: str | None = None,
    sha256: str = "",
    licence: str = "",
    origin: str = "",
    try_out: Callable[[Path, str], list[str]] = trial_faults,
) -> Installed:
    """Take a model from a ZIP archive or a folder into the models folder, whole or not at all.

    Args:
        source: the archive or folder.
        folder: the models folder; made where it is not there.
        name: what to call it; None takes the model's own name.
        sha256: what the archive's SHA-256 must be; "" takes any and records it.
        licence: as its publisher states it.
        origin: where it came from; "" records the path.
        try_out: says what does not work about the model in a folder, called by a name.

    Raises:
        ModelError: anything that keeps it from being a working model, as one line.
    """
    if not source.exists():
        raise ModelError(f"{source}: there is no such file. Give a model's ZIP archive or folder.")
    found = "" if source.is_dir() else hash_file(source)
    if sha256 and found != sha256.lower():
        came = found or "a folder, which has none"
        raise ModelError(
            f"{source.name}: expected the SHA-256 {sha256.lower()}, but it is {came}. "
            "Nothing was added; get the file again."
        )
    with plainly(folder), _workplace(folder) as place:
        take = archive.copy if source.is_dir() else archive.unpack
        take(source, place)
        root = find_root(place)
        shown = source.resolve()  # "." has no name of its own
        called = _checked_name(name or (shown.stem if root == place else root.name), folder)
        problems = layout_faults(root, shown.name) or try_out(root, shown.name)
        if problems:
            raise ModelError(problems[0])
        record = Record(
            name=called,
            language=guess_language(called),
            licence=licence,
            source=origin or str(source.absolute()),
            sha256=found,
            added=datetime.now(UTC).isoformat(timespec="seconds"),
            files=hashes(root),
        )
        write_record(root, record)
        root.rename(folder / called)
        for each in (*(path for path in folder.rglob("*") if path.is_dir()), folder):
            flush_folder(each)
    return _installed(folder / called)


def installed(folder: Path) -> tuple[Installed, ...]:
    """Return the models in the models folder by name, faulty ones too."""
    if not folder.is_dir():
        return ()
    inside = sorted(path for path in folder.iterdir() if path.is_dir() and path.name != OWN_WEIGHTS)
    return tuple(_installed(path) for path in inside if not path.name.startswith("."))


def choose(folder: Path, language: str) -> Path | None:
    """Return the folder of the first usable model for the language; None where there is none."""
    for model in installed(folder):
        if model.language == language and not model.faults:
            return model.folder
    return None


def guess_language(name: str) -> str:
    """Return the two letters of the language in a model's name, "" where there are none."""
    known = _LANGUAGE.search(name.lower().removeprefix("vosk-model").removeprefix("-small"))
    return known[1] if known else ""


def _installed(folder: Path) -> Installed:
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    problems = tuple(layout_faults(folder))
    try:
        return Installed(folder, read_record(folder), size, problems)
    except ModelError as error:
        return Installed(folder, None, size, (*problems, str(error)))


def _checked_name(name: str, folder: Path) -> str:
    if not _NAME.fullmatch(name):
        raise ModelError(f"Expected a model's name of letters, digits, dots and hyphens: {name!r}.")
    if (folder / name).exists() or name == OWN_WEIGHTS:
        raise ModelError(
            f"{name}: there is a model of this name in {folder}. "
            "Remove its folder first, or give another name."
        )
    return name


@contextmanager
def _workplace(folder: Path) -> Iterator[Path]:
    """Give an empty folder beside the models, removed at the end and after a kill at the next."""
    make_folder(folder)
    with FileLock(folder / ".lock"):
        for left in folder.glob(f"{_TEMPORARY}*"):
            shutil.rmtree(left, ignore_errors=True)
        place = Path(tempfile.mkdtemp(prefix=_TEMPORARY, dir=folder))
        try:
            yield place
        finally:
            shutil.rmtree(place, ignore_errors=True)
