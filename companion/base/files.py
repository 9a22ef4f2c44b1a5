"""Writing files so that each is there whole or not at all, and never in place of another."""

import os
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from companion.base.errors import CompanionError

_RESERVED = re.compile(r"(?:con|prn|aux|nul|(?:com|lpt)[0-9¹²³])(?:\..*)?", re.IGNORECASE)
"""Names that stand for devices on Windows, whatever follows a dot ("Naming Files, Paths, and
Namespaces", Microsoft Learn)."""


def is_reserved(name: str) -> bool:
    """Return whether Windows takes a file's name for a device."""
    return _RESERVED.fullmatch(name.rstrip(" ")) is not None


def make_folder(folder: Path) -> None:
    """Make a folder that is only the user's own, and those above it, where they are not there."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(mode=0o700, exist_ok=True)


def check_free(path: Path) -> None:
    """Raise CompanionError where no new file can be written under this name."""
    if path.exists():
        raise CompanionError(f"{path} exists already. Name another file, or move it first.")
    if is_reserved(path.name):
        raise CompanionError(f"{path.name} is a device's name on Windows. Name another file.")
    if not path.parent.is_dir():
        raise CompanionError(f"{path.parent} is not a folder. Name a folder that there is.")
    if not os.access(path.parent, os.W_OK):
        raise CompanionError(f"{path.parent} may not be written. Name another folder.")


def write_new(path: Path, content: bytes | str) -> None:
    """Write a new file, text as UTF-8; raise CompanionError, and leave nothing, if that fails."""
    check_free(path)
    try:
        with path.open("xb") as file:
            try:
                file.write(content.encode() if isinstance(content, str) else content)
                flush(file)
            except BaseException:
                with suppress(OSError):
                    path.unlink()
                raise
    except FileExistsError:
        raise CompanionError(f"{path} exists already. Name another file.") from None
    except OSError as error:
        raise CompanionError(f"{path} cannot be written: {error.strerror}.") from None


@contextmanager
def replacing(path: Path, *, is_flushed: bool = True) -> Iterator[Path]:
    """Give a path to write to; what stands there at the block's end takes the place of `path`.

    Where the block fails, `path` is as it was. Raises OSError.
    """
    part = path.with_name(f"{path.name}.{os.getpid()}-{threading.get_ident()}.part")
    try:
        yield part
        if is_flushed:
            with part.open("r+b") as file:
                flush(file)
        part.replace(path)
        if is_flushed:
            flush_folder(path.parent)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def replace(path: Path, content: bytes, *, mode: int = 0o666) -> None:
    """Write a file whole, in place of what stood there; raises OSError and then keeps that.

    Its folder is made where there is none.
    """
    make_folder(path.parent)
    with replacing(path) as part, _made(part, mode) as file:
        file.write(content)


def _made(path: Path, mode: int) -> IO[bytes]:
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb")


def flush(file: IO[bytes]) -> None:
    """Have what was written to a file on the disk."""
    file.flush()
    os.fsync(file.fileno())


def flush_folder(folder: Path) -> None:
    """Have a folder's new names on the disk, where its file system can; Windows needs no call."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # some file systems of sticks cannot
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
