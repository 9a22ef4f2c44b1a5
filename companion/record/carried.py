"""A session as one file to carry to another machine: a ZIP of its database and a manifest.

The manifest holds the database's SHA-256, so that a copy cut short or changed is noticed.
"""

import hashlib
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Final, Literal
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from companion.base.clean import clean_line
from companion.base.files import replacing
from companion.base.zip_faults import ZIP_FAULTS
from companion.record import faults
from companion.record.journal import Journal

SUFFIX: Final = ".session"
_MANIFEST: Final = "manifest.json"
_DATABASE: Final = "session.sqlite"
_ZIP_BEGINS: Final = b"PK\x03\x04"


def _readable(text: str) -> str:
    if text != clean_line(text):
        raise ValueError("expected text that can be shown")
    return text


_Shown = Annotated[str, Field(max_length=500), AfterValidator(_readable)]
_LARGEST_MANIFEST_BYTES: Final = 100_000
_LARGEST_DATABASE_BYTES: Final = 2**31
"""Far above any warp; what claims to be more would only fill the disk."""
_FOREIGN: Final = (
    "expected a session packed by this companion, but the file is something else",
    "Give the file that `companion carry` wrote",
)
_CUT_SHORT: Final = (
    "the file is damaged or was not copied to its end. Nothing was taken from it",
    "Copy it again from where it was made, or carry the session again",
)
_NEWER: Final = (
    "the file was written by a newer companion",
    "Bring the companion on this machine up to date, then try again",
)


class Manifest(BaseModel):
    """What a carried file says of itself."""

    model_config = ConfigDict(frozen=True, strict=True)

    format: Literal[1] = 1
    session: _Shown
    """Its name on the machine it comes from."""
    identity: str
    entries: int
    machine: _Shown
    carried: _Shown
    """When it was packed; UTC, ISO 8601."""
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    """Of the database, in hexadecimal digits."""


def write(to: Path, database: Path, manifest: Manifest) -> None:
    """Write a carried file, under its name once it is whole and on the disk, or JournalError."""
    with faults.plainly(to), replacing(to) as part:
        # A machine without a clock may have a time that ZIP cannot hold.
        with ZipFile(part, "w", ZIP_DEFLATED, strict_timestamps=False) as packed:
            packed.writestr(ZipInfo(_MANIFEST), manifest.model_dump_json(indent=1))
            packed.write(database, _DATABASE)
        with opened(part):
            pass


@contextmanager
def opened(file: Path) -> Iterator[tuple[Manifest, Journal]]:
    """Open a carried file to read: what it says of itself, and the session in it.

    Raises JournalError where it is not there, damaged, something else, or of a newer companion.
    """
    with faults.plainly(file), TemporaryDirectory(prefix="companion-") as folder:
        # Faults name the file as the weaver knows it.
        database = Path(folder) / file.name
        manifest = _unzip(file, database)
        with Journal.open(database, read_only=True) as journal:
            if (journal.length, journal.identity) != (manifest.entries, manifest.identity):
                raise faults.fault(file, *_CUT_SHORT)
            yield manifest, journal


def _unzip(file: Path, database: Path) -> Manifest:
    if file.is_dir():
        raise faults.fault(file, "that is a folder", f"Give the file in it that ends in {SUFFIX}")
    if not file.is_file():
        raise faults.fault(file, "there is no such file", _FOREIGN[1])
    with file.open("rb") as stream:
        begins = stream.read(len(_ZIP_BEGINS))
    is_ours = begins == _ZIP_BEGINS
    try:
        with ZipFile(file) as packed:
            is_ours = {_MANIFEST, _DATABASE} <= set(packed.namelist())
            manifest = _manifest(file, packed)
            _extract(packed, database)
    except ZIP_FAULTS as error:
        raise faults.fault(file, *(_CUT_SHORT if is_ours else _FOREIGN)) from error
    if digest(database) != manifest.sha256:
        raise faults.fault(file, *_CUT_SHORT)
    return manifest


def _manifest(file: Path, packed: ZipFile) -> Manifest:
    if packed.getinfo(_MANIFEST).file_size > _LARGEST_MANIFEST_BYTES:
        raise faults.fault(file, *_FOREIGN)
    text = packed.read(_MANIFEST)
    try:
        return Manifest.model_validate_json(text)
    except ValidationError as error:
        is_newer = error.errors(include_url=False)[0]["loc"] == ("format",)
        raise faults.fault(file, *(_NEWER if is_newer else _CUT_SHORT)) from None


def _extract(packed: ZipFile, database: Path) -> None:
    if packed.getinfo(_DATABASE).file_size > _LARGEST_DATABASE_BYTES:
        raise BadZipFile
    with packed.open(_DATABASE) as inside, database.open("wb") as out:
        shutil.copyfileobj(inside, out)


def digest(path: Path) -> str:
    """Return the SHA-256 of a file in hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
