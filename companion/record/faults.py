"""SQLite's and the system's errors as one plain line each."""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.base.clean import clean_line
from companion.base.errors import JournalError

_KEPT = "What was recorded before is safe"

_FULL = ("the disk is full", "Free some space, then say it again")
_REFUSED = (
    f"the disk would not take or give the data. {_KEPT}",
    "Check the disk and its space, then open the session again",
)
_READ_ONLY = (
    f"the file or its folder may not be written. {_KEPT}",
    "Give yourself the right to write there, or copy the folder to where you have it",
)
_UNREACHABLE = (
    "the file or its folder cannot be opened",
    "Check that the folder is there and that you may read and write in it",
)
FOREIGN = (
    "expected a session of this companion, but the file is something else",
    "Give the name of a session; `companion sessions` lists them",
)
OLDER = (
    "it was begun with the first edition of the companion and cannot be walked with this one",
    "It is left as it is; begin a new one with its plan",
)
NEWER = (
    "the session was written by a newer companion",
    "Bring the companion on this machine up to date",
)
REPLACED = (
    "the session's file was moved, deleted or replaced while it is walked",
    "Put it back under its name; if that cannot be, leave here and begin again from a copy",
)
_DAMAGED = (
    "the record is damaged",
    "Go back to a copy of it, or save what is sound: `companion sessions --rescue {session}`",
)
_BUSY = ("another program holds the file", "Close the program that has it open, then try again")

_BY_SQLITE_CODE = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_IOERR_SHMSIZE: _FULL,
    sqlite3.SQLITE_IOERR: _REFUSED,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: _UNREACHABLE,
    sqlite3.SQLITE_NOTADB: FOREIGN,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    # Only a missing table or column gives the bare error: our statements are fixed.
    sqlite3.SQLITE_ERROR: _DAMAGED,
}

NO_ROOM = {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_READONLY}
"""On a full disk: to write, to use a file with others, and where it was opened only to read."""
_BY_SYSTEM_CODE = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EACCES: _READ_ONLY,
    errno.EPERM: _READ_ONLY,
    errno.EROFS: _READ_ONLY,
}


_LONGEST_DETAIL = 200


def fault(path: Path, what: str, mend: str) -> JournalError:
    """Return the error for one session file, as one line."""
    mend = mend.replace("{session}", clean_line(path.stem))
    return JournalError(f"{what}. {mend}.", clean_line(path.name if path.suffix else str(path)))


def damaged(path: Path, detail: str) -> JournalError:
    """Return the error for a record that cannot be trusted; `detail` is the first sign of it."""
    what, mend = _DAMAGED
    return fault(path, f"{what} ({clean_line(detail)[:_LONGEST_DETAIL]})", mend)


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Turn any storage error inside the block into a JournalError about `path`."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # a mistake in this program, not in the weaver's file
    except UnicodeDecodeError as error:  # SQLite's own words, quoting what is no text
        raise damaged(path, "its tables are not readable") from error
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT)
        told = _BY_SQLITE_CODE.get(code) or _BY_SQLITE_CODE.get(code & 0xFF, _REFUSED)
        raise fault(path, *told) from error
    except OSError as error:
        raise fault(path, *_BY_SYSTEM_CODE.get(error.errno or 0, _UNREACHABLE)) from error
