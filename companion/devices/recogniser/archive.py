"""Taking files out of a ZIP archive or a folder that nobody vouches for."""

import shutil
import stat
import zipfile
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import IO

from companion.base.errors import ModelError
from companion.base.files import flush
from companion.base.zip_faults import ZIP_FAULTS
from companion.devices.recogniser.record import plainly

_MOST_FOLDERS = 20
MOST_FILES = 1_000
MOST_BYTES = 4 * 1024**3
MOST_RATIO = 100.0
"""Unpacked over packed size; models measured unpack to about 1.7 times their archive."""


def unpack(source: Path, into: Path) -> None:
    """Write the files of a ZIP archive into the empty folder `into`, on the disk at return.

    Nothing is written outside it, and no links. Raises ModelError where it is not an archive,
    damaged, or with anything in it that a model has no use for.
    """
    try:
        with plainly(source), zipfile.ZipFile(source) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            sizes = [entry.file_size for entry in entries]  # no more is read, whatever there is
            _judge_sizes(source, into, sizes)
            _judge_names(source, entries)
            for entry in entries:
                with archive.open(entry) as stream:
                    _write(stream, into / entry.filename)
    except ZIP_FAULTS as error:
        raise ModelError(
            f"{source.name}: expected a whole ZIP archive, but it cannot be read ({error}). "
            "Get the file again."
        ) from error


def copy(source: Path, into: Path) -> None:
    """Copy the files of a folder into an empty one, on the disk at return.

    Raises ModelError where it holds links, or more than a model does.
    """
    files = list(_files(source))
    _judge_sizes(source, into, [path.stat().st_size for path in files])
    for path in files:
        with path.open("rb") as stream:
            _write(stream, into / path.relative_to(source))


def _judge_sizes(source: Path, into: Path, sizes: list[int]) -> None:
    """Refuse what is too much for a model or for the disk, before anything is written."""
    total = sum(sizes)
    most = MOST_RATIO * source.stat().st_size if source.is_file() else MOST_BYTES
    if len(sizes) > MOST_FILES or total > min(most, MOST_BYTES):
        raise ModelError(
            f"{source.name}: it holds {len(sizes)} files of {total} bytes in all, so it is not "
            "taken for a model. Nothing was added; get the file from its publisher."
        )
    free = shutil.disk_usage(into).free
    if free < total:
        raise ModelError(
            f"{source.name}: it needs {total // 10**6} MB, but {into.parent} has room for "
            f"{free // 10**6} MB. Free some space and add it again."
        )


def _judge_names(source: Path, entries: list[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    for entry in entries:
        reason = _reason_against(entry)
        # Two names that differ in case are one file on Windows and macOS.
        if entry.filename.casefold() in seen:
            reason = "comes twice"
        if reason:
            raise ModelError(
                f"{source.name}: the entry {entry.filename!r} {reason}, which no model needs. "
                "Nothing was added; get the file from its publisher."
            )
        seen.add(entry.filename.casefold())


def _reason_against(entry: zipfile.ZipInfo) -> str:
    name = entry.orig_filename
    kind = stat.S_IFMT(entry.external_attr >> 16)
    is_deep = len(PurePosixPath(name).parts) > _MOST_FOLDERS
    if is_deep or not name.isprintable() or "\\" in name or ":" in name:
        return "has a name that is not plain"
    if name.startswith("/"):
        return "has an absolute path"
    if ".." in PurePosixPath(name).parts:
        return "leads out of its folder"
    if kind not in (0, stat.S_IFREG):
        return "is a link or a device"
    if entry.flag_bits & 0x1:
        return "is locked with a password"
    return ""


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        if path.is_symlink():
            raise ModelError(
                f"{folder.name}: {path.relative_to(folder)} is a link. "
                "Copy the real files into one folder and add that."
            )
        if path.is_file():
            yield path


def _write(stream: IO[bytes], path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as file:
        shutil.copyfileobj(stream, file)
        flush(file)
