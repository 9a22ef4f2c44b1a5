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

SCHEMAS = (
    """
    CREATE TABLE session (
        title TEXT NOT NULL, plan_path TEXT NOT NULL, plan_text TEXT NOT NULL, draft_text TEXT,
        fingerprint TEXT NOT NULL, options TEXT NOT NULL, created TEXT NOT NULL,
        holder TEXT NOT NULL DEFAULT '');
    CREATE TABLE entry (
        number INTEGER PRIMARY KEY, at TEXT NOT NULL, kind TEXT NOT NULL, stage TEXT NOT NULL,
        source TEXT NOT NULL, words TEXT NOT NULL, state TEXT, position INTEGER NOT NULL,
        total INTEGER NOT NULL, weaver TEXT NOT NULL);
    CREATE INDEX entry_state ON entry (stage, number) WHERE state IS NOT NULL;
    CREATE TABLE announced (stage TEXT PRIMARY KEY, position INTEGER NOT NULL);
    """,
    # Copies of one old session, wherever they are brought up to date, get the same identity.
    """
    ALTER TABLE session ADD COLUMN identity TEXT NOT NULL DEFAULT '';
    ALTER TABLE session ADD COLUMN origin TEXT NOT NULL DEFAULT '';
    UPDATE session SET identity = created || ' ' || fingerprint
    """,
)
"""SCHEMAS[n] takes a file of format n to format n + 1; formats are counted in user_version."""

_NEW_SESSION = """
    INSERT INTO session (title, plan_path, plan_text, draft_text, fingerprint, options, created,
                         identity, origin)
    VALUES (:title, :plan_path, :plan_text, :draft_text, :fingerprint, :options, :created,
            :identity, :origin)
"""
_SESSION = """
    SELECT title, plan_path, plan_text, draft_text, fingerprint, options, created, {identity}
    FROM session
"""
_IDENTITY = ("created || ' ' || fingerprint AS identity, '' AS origin", "identity, origin")
"""For files of the first format, which are only read, and for those since."""
_INSERT = """
    INSERT INTO entry (number, at, kind, stage, source, words, state, position, total, weaver)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
"""


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


@contextmanager
def without_flush(connection: sqlite3.Connection) -> Iterator[None]:
    """Let the commits in the block wait for the next flush to reach the disk."""
    connection.execute("PRAGMA synchronous=NORMAL")
    try:
        yield
    finally:
        connection.execute("PRAGMA synchronous=FULL")


def migrate(connection: sqlite3.Connection, schemas: Sequence[str] = SCHEMAS) -> None:
    """Bring the file to the newest format, each step with its record in one transaction."""
    for version in range(format_of(connection), len(schemas)):
        with atomic(connection):
            for statement in schemas[version].split(";"):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version={version + 1}")


def format_of(connection: sqlite3.Connection) -> int:
    """Return the file's format number; 0 is a file without tables."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check(connection: sqlite3.Connection, path: Path) -> None:
    """Raise JournalError unless the file is ours, whole and of a format known here."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise faults.fault(path, *faults.FOREIGN)
    version = format_of(connection)
    if version > len(SCHEMAS):
        raise faults.fault(
            path,
            f"expected a record of format {len(SCHEMAS)} or older, but it has format {version}",
            "Open it with the newer companion that wrote it",
        )
    signs = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if signs != "ok":
        raise faults.damaged(path, signs)
    if connection.execute("SELECT count(*) FROM session").fetchone()[0] != 1:
        raise faults.damaged(path, "its first page is empty")


def session_of(connection: sqlite3.Connection) -> dict[str, str | None]:
    """Return the session by column name, whatever format the file has."""
    has_identity = format_of(connection) > 1
    found = connection.execute(_SESSION.format(identity=_IDENTITY[has_identity]))
    names = [column[0] for column in found.description]
    return dict(zip(names, found.fetchone(), strict=True))


def insert(
    connection: sqlite3.Connection, rows: Iterable[Row], announced: Iterable[tuple[str, int]]
) -> None:
    """Add entries as they are, numbers too, and what was last spoken, inside a transaction."""
    connection.executemany(_INSERT, rows)
    announce(connection, announced)


def announce(connection: sqlite3.Connection, announced: Iterable[tuple[str, int]]) -> None:
    """Note the position last spoken in each of these stages."""
    connection.executemany(
        "INSERT INTO announced VALUES (?, ?)"
        " ON CONFLICT (stage) DO UPDATE SET position = excluded.position",
        announced,
    )


def build(
    path: Path,
    session: dict[str, str | None],
    rows: Iterable[Row] = (),
    announced: Iterable[tuple[str, int]] = (),
) -> None:
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
                insert(connection, rows, announced)
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
