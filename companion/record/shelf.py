"""Putting sessions away and taking them out again, and saving what is sound of a damaged one."""

import sqlite3
import struct
from contextlib import closing, suppress
from itertools import count
from pathlib import Path
from typing import NamedTuple

from companion.base.errors import JournalError
from companion.base.files import make_folder
from companion.record import faults, lock, store
from companion.record.entry import Entry, row_of
from companion.record.journal import Journal

AWAY = "put-away"
"""The folder, beside the sessions, of those put away."""

_LONGEST_LOG = 2**24
"""Bytes that a log, which is folded in at each group's end, adds to the file at the most."""


class Rescued(NamedTuple):
    """What was saved of a damaged session."""

    session: str
    """The name of the session that goes on with it."""
    entries: int
    last_at: str
    """When the last of them was written, UTC, ISO 8601."""


def put_away(path: Path) -> Path:
    """Move a session out of the list, damaged or not, and return where it lies; nothing is lost.

    Raises JournalError where it is being walked, or cannot be moved.
    """
    with suppress(JournalError), Journal.open(path, read_only=True):
        Journal.open(path).close()  # folds in the log; that of a damaged one is left as it is
    return _move(path, path.parent / AWAY)


def take_out(path: Path) -> Path:
    """Move a session that was put away back among the others and return where it lies."""
    return _move(path, path.parent.parent)


def _move(path: Path, folder: Path) -> Path:
    with faults.plainly(path), lock.alone(path):
        make_folder(folder)
        names = (f"{path.stem}{f'-again-{number}' * (number > 1)}" for number in count(1))
        paths = (folder / f"{name}{store.SUFFIX}" for name in names)
        to = next(each for each in paths if store.is_free(each))
        # The file itself last: killed before that, the next time brings the rest after it.
        for old, new in zip(store.with_logs(path)[::-1], store.with_logs(to)[::-1], strict=True):
            if old.exists():
                old.rename(new)
    return to


def rescue(path: Path) -> Rescued:
    """Begin a session with the entries of a damaged one up to its damage, and put that away.

    Raises JournalError, changing nothing, where it is sound, or its plan is damaged too.
    """
    from tempfile import TemporaryDirectory  # noqa: PLC0415 - a walk does without it

    with faults.plainly(path), lock.alone(path), TemporaryDirectory() as folder:
        alone = _full_length(path, Path(folder))
        with closing(store.connect_without_log(alone)) as connection:
            store.check_ours(connection, path)
            session, _ = store.session_of(connection, path)
            sound, _ = _sound(connection, path)
        with_log, is_damaged = _sound_with_log(path)
        sound = max(with_log, sound, key=len)
    if not sound or not is_damaged:
        why = "nothing in this session is damaged" if sound else "no entry of it is sound"
        raise JournalError(f"{path.stem}: {why}, so nothing was changed.")
    with lock.folder(path.parent):
        to = store.free_path(path.parent, session["title"] or "")
        store.build(to, session, map(row_of, sound))
    put_away(path)
    return Rescued(to.stem, len(sound), sound[-1].at)


def _sound_with_log(path: Path) -> tuple[list[Entry], bool]:
    try:
        with closing(store.connect_to_read(path)) as connection:
            return _sound(connection, path)
    except sqlite3.OperationalError:
        raise  # it cannot be read just now, which says nothing of what it holds
    except sqlite3.DatabaseError:
        return [], True


def _full_length(path: Path, folder: Path) -> Path:
    """Return the file, or a copy as long as its first page says where it is shorter.

    Where the folding in of a log was broken off and the log is lost, SQLite reads nothing of a file
    that lacks its last pages (its documentation, "Database File Format", 1.3.8).
    """
    content = path.read_bytes()
    size, pages = struct.unpack_from(">H10xI", content.ljust(32, b"\0"), 16)
    if size * pages <= len(content):
        return path
    copy = folder / path.name
    copy.write_bytes(content.ljust(min(size * pages, len(content) + _LONGEST_LOG), b"\0"))
    return copy


def _sound(connection: sqlite3.Connection, path: Path) -> tuple[list[Entry], bool]:
    """Return the entries before the first that is damaged, and whether anything is."""
    sound: list[Entry] = []
    try:
        sound.extend(store.entries(connection, path, after=0))
        store.check(connection, path)
    except (JournalError, sqlite3.Error, UnicodeDecodeError):
        return sound, True
    return sound, False
