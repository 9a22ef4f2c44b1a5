"""The SQLite side of a journal: connecting, the tables, transactions, checks."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager, suppress
from typing import TYPE_CHECKING

from companion.record import faults

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    Row = tuple[str | int | None, ...]
    """An entry's values, its number first."""

SUFFIX = ".sqlite"
APPLICATION_ID = 0x4C6F4F6D
"""Marks our files in SQLite's header, so that another program's database is not taken for one."""

OLDEST = 3
"""The formats before it were the first edition's; their sessions are named and left as they are."""
SCHEMAS = (
    """
    CREATE TABLE session (
        title TEXT NOT NULL, plan_path TEXT NOT NULL, plan_text TEXT NOT NULL, draft_text TEXT,
        fingerprint TEXT NOT NULL, options TEXT NOT NULL, created TEXT NOT NULL,
        identity TEXT NOT NULL, origin TEXT NOT NULL, holder TEXT NOT NULL DEFAULT '');
    CREATE TABLE entry (
        number INTEGER PRIMARY KEY, at TEXT NOT NULL, kind TEXT NOT NULL, stage TEXT NOT NULL,
        source TEXT NOT NULL, words TEXT NOT NULL, command TEXT, events TEXT NOT NULL, state TEXT,
        position INTEGER NOT NULL, total INTEGER NOT NULL, is_finished INTEGER NOT NULL,
        weaver TEXT NOT NULL);
    CREATE INDEX entry_state ON entry (stage, number) WHERE state IS NOT NULL
    """,
)
"""SCHEMAS[0] makes a file of the oldest format, each one after it takes a file to the next."""
SESSION = (
    *("title", "plan_path", "plan_text", "draft_text", "fingerprint", "options", "created"),
    *("identity", "origin"),
)
"""The columns that are the same in every copy of a session."""
ENTRY = (
    *("number", "at", "kind", "stage", "source", "words", "command", "events", "state"),
    *("position", "total", "is_finished", "weaver"),
)

_NEW_SESSION = f"INSERT INTO session ({', '.join(SESSION)}) VALUES (:{', :'.join(SESSION)})"  # noqa: S608 - our own names, here and below
_SESSION = f"SELECT {', '.join(SESSION)} FROM session"  # noqa: S608
_ENTRIES = f"SELECT {', '.join(ENTRY)} FROM entry WHERE number > ? ORDER BY number"  # noqa: S608
INSERT = f"INSERT INTO entry ({', '.join(ENTRY)}) VALUES ({', '.join('?' * len(ENTRY))})"  # noqa: S608
"""Adds an entry; one whose number is None gets the next."""


def connect(path: Path, *, mode: str) -> sqlite3.Connection:
    """Open the file; `mode` is SQLite's "ro", "rw" or "rwc"."""
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None
    )


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open the file to read it, even in a folder that may not be written.

    SQLite cannot make its shared-memory file in such a folder. Without a write-ahead log beside it
    the file is whole by itself and nobody writes it, so it may be read as unchanging.
    """
    connection = connect(path, mode="ro")
    try:
        connection.execute("PRAGMA schema_version").fetchone()
    except sqlite3.OperationalError:
        connection.close()
        log = path.with_name(path.name + "-wal")
        if _may_write(path.parent) or (log.exists() and log.stat().st_size):
            raise
        return connect(path, mode="ro&immutable=1")
    return connection


def _may_write(folder: Path) -> bool:
    return os.access(folder, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def make_durable(connection: sqlite3.Connection) -> None:
    """Have every commit on the disk before it returns (SQLite documentation, "PRAGMA synchronous").

    fullfsync makes macOS flush the drive's own cache too; elsewhere it changes nothing.
    """
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("PRAGMA fullfsync=1")
    connection.execute("PRAGMA checkpoint_fullfsync=1")


@contextmanager
def atomic(connection: sqlite3.Connection) -> Iterator[None]:
    """Commit the block as one transaction, or leave nothing of it."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        # SQLite has rolled back by itself after some errors, such as a full disk.
        if connection.in_transaction:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise


def migrate(connection: sqlite3.Connection, schemas: Sequence[str] = SCHEMAS) -> None:
    """Bring the file to the newest format, each step with its record in one transaction."""
    for version in range(max(OLDEST, format_of(connection) + 1), OLDEST + len(schemas)):
        with atomic(connection):
            for statement in schemas[version - OLDEST].split(";"):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version={version}")


def format_of(connection: sqlite3.Connection) -> int:
    """Return the file's format number; 0 is a file without tables."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check(connection: sqlite3.Connection, path: Path) -> None:
    """Raise JournalError unless the file is ours, whole and of a format known here."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise faults.fault(path, *faults.FOREIGN)
    version = format_of(connection)
    if version < OLDEST:
        raise faults.fault(path, *faults.FIRST_EDITION)
    if version >= OLDEST + len(SCHEMAS):
        newest = OLDEST + len(SCHEMAS) - 1
        raise faults.fault(
            path,
            f"expected a record of format {newest} or older, but it has format {version}",
            "Open it with the newer companion that wrote it",
        )
    signs = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if signs != "ok":
        raise faults.damaged(path, signs)
    if connection.execute("SELECT count(*) FROM session").fetchone()[0] != 1:
        raise faults.damaged(path, "its first page is empty")


def session_of(connection: sqlite3.Connection) -> dict[str, str | None]:
    """Return the session by column name."""
    return dict(zip(SESSION, connection.execute(_SESSION).fetchone(), strict=True))


def entries_after(connection: sqlite3.Connection, number: int) -> Iterator[Row]:
    """Yield the entries above `number` in order, each with its columns in the order of ENTRY."""
    yield from connection.execute(_ENTRIES, (number,))


def insert(connection: sqlite3.Connection, rows: Iterable[Row]) -> None:
    """Add entries as they are, numbers too, inside a transaction."""
    connection.executemany(INSERT, rows)


def build(path: Path, session: dict[str, str | None], rows: Iterable[Row] = ()) -> None:
    """Write a whole new journal file at `path` by way of a file beside it.

    The rename is the moment it comes to be: a kill before it leaves no journal, after it a whole
    one. The caller holds the lock of `path`.
    """
    draft = path.with_name(path.name + ".new")
    _remove(draft)
    try:
        with closing(connect(draft, mode="rwc")) as connection:
            make_durable(connection)
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            migrate(connection)
            with atomic(connection):
                connection.execute(_NEW_SESSION, session)
                insert(connection, rows)
        draft.rename(path)
    except BaseException:
        with suppress(OSError):
            _remove(draft)
        raise
    flush_folder(path.parent)


def _remove(path: Path) -> None:
    """Remove a database with its logs: an old log would be replayed into a new file."""
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)


def flush_folder(folder: Path) -> None:
    """Have the folder's new name on the disk; Windows has no such call and needs none."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
