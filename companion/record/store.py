"""The SQLite side of a journal: connecting, the tables, transactions, checks, its file's name."""

import errno
import json
import os
import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from itertools import chain, count
from pathlib import Path
from typing import Any

from companion.base.clean import clean_line, clean_tree
from companion.base.files import flush_folder, is_reserved
from companion.record import faults
from companion.record.entry import COLUMNS, Entry, Row, entry_of, seal

SUFFIX = ".sqlite"
APPLICATION_ID = 0x4C6F4F6D
"""Marks our files in SQLite's header, so that another program's database is not taken for one."""
_MOST_WORDS = 3
_MOST_LETTERS = 32
FORMAT = 4
"""Of the tables, counted in user_version; those before are of the first edition."""
SESSION_COLUMNS = (
    "title", "plan_path", "plan_text", "draft_text", "fingerprint", "options", "created",
    "identity", "origin",
)  # fmt: skip
"""Of the table with the session's one row, beside its seal and its holder."""
_TABLES = (
    """CREATE TABLE session (
        title TEXT NOT NULL, plan_path TEXT NOT NULL, plan_text TEXT NOT NULL, draft_text TEXT,
        fingerprint TEXT NOT NULL, options TEXT NOT NULL, created TEXT NOT NULL,
        identity TEXT NOT NULL, origin TEXT NOT NULL, seal TEXT NOT NULL,
        holder TEXT NOT NULL DEFAULT '')""",
    """CREATE TABLE entry (
        number INTEGER PRIMARY KEY, at TEXT NOT NULL, kind TEXT NOT NULL, stage TEXT NOT NULL,
        source TEXT NOT NULL, words TEXT NOT NULL, command TEXT, events TEXT NOT NULL, state TEXT,
        position INTEGER NOT NULL, total INTEGER NOT NULL, is_finished INTEGER NOT NULL,
        weaver TEXT NOT NULL, seal TEXT NOT NULL)""",
)


_SESSION = f"SELECT {', '.join(SESSION_COLUMNS)}, seal FROM session"
_ENTRIES = f"SELECT {', '.join(COLUMNS)}, seal FROM entry WHERE number > ? ORDER BY number"


def _insertion(table: str, columns: tuple[str, ...]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}, seal) VALUES ({'?, ' * len(columns)}?)"


_NEW_SESSION = _insertion("session", SESSION_COLUMNS)
_APPEND = _insertion("entry", COLUMNS)


def connect(path: Path, *, mode: str) -> sqlite3.Connection:
    """Open the file; `mode` is SQLite's "ro", "rw" or "rwc"."""
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None
    )


def connect_to_write(path: Path) -> sqlite3.Connection:
    """Open the file to write it, on a full disk only to read; see `with_room`.

    Of what may not be written SQLite says only that it cannot.
    """
    if not (_may_write(path) and _may_write(path.parent)):
        raise PermissionError(errno.EACCES, "")
    try:
        return _opened(path, mode="rw")
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode not in faults.NO_ROOM:
            raise
        return connect_to_read(path)


def with_room(connection: sqlite3.Connection, path: Path) -> sqlite3.Connection:
    """Return a connection to write by: a new one, where the disk was too full for that."""
    if connection.execute("PRAGMA journal_mode").fetchone() == ("wal",):
        return connection
    fresh = _opened(path, mode="rw")
    make_durable(fresh)
    connection.close()
    return fresh


def _opened(path: Path, *, mode: str) -> sqlite3.Connection:
    """Open a file that is one, since a pipe would be waited for, and find it to be readable."""
    if not path.is_file():
        raise FileNotFoundError(errno.ENOENT, "")
    with ExitStack() as ending:
        connection = ending.enter_context(closing(connect(path, mode=mode)))
        connection.execute("PRAGMA schema_version").fetchone()
        ending.pop_all()
    return connection


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open the file to read it, even in a folder that may not be written.

    SQLite cannot make its shared-memory file in such a folder, nor on a full disk. Without a
    write-ahead log beside it the file is whole by itself and nobody writes it, so it may be read as
    unchanging.
    """
    try:
        return _opened(path, mode="ro")
    except sqlite3.OperationalError as error:
        is_full = error.sqlite_errorcode in faults.NO_ROOM
        if is_full and has_log(path):
            _fold_alone(path)
        if has_log(path) or (not is_full and _may_write(path.parent)):
            raise
        return connect_without_log(path)


def _fold_alone(path: Path) -> None:
    """Fold a log that a kill left behind into the file, with no room for a shared memory.

    Who has the file alone needs none (SQLite documentation, "Write-Ahead Logging", 9), and that
    nobody walks it any more fits where the log was.
    """
    with suppress(sqlite3.Error), closing(connect(path, mode="rw")) as alone:
        alone.execute("PRAGMA locking_mode=EXCLUSIVE")
        alone.execute("PRAGMA wal_checkpoint(RESTART)").fetchone()
        alone.execute("UPDATE session SET holder = ''")


def connect_without_log(path: Path) -> sqlite3.Connection:
    """Open the file to read it as it is by itself, as if nobody could write it."""
    return connect(path, mode="ro&immutable=1")


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _check_log(connection: sqlite3.Connection, path: Path) -> None:
    """Raise JournalError where the file holds more than the log beside it tells.

    SQLite takes a log as far as it is sound, and what it tells for newer than the file, although
    all of it may have been folded in: one changed bit in it would give an older place.
    """
    settled = 0
    if has_log(path):
        unreadable = suppress(sqlite3.Error, UnicodeDecodeError)
        with unreadable, closing(connect_without_log(path)) as alone:
            settled = last_number(alone)
    if settled > last_number(connection):
        raise faults.damaged(path, "the log beside it was changed")


def has_log(path: Path) -> bool:
    """Return whether something stands in a write-ahead log beside the file."""
    log = path.with_name(f"{path.name}-wal")
    return log.exists() and log.stat().st_size > 0


def make_durable(connection: sqlite3.Connection) -> None:
    """Have every commit on the disk before it returns (SQLite documentation, "PRAGMA synchronous").

    fullfsync makes macOS flush the drive's own cache too; elsewhere it changes nothing.
    """
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("PRAGMA fullfsync=1")
    connection.execute("PRAGMA checkpoint_fullfsync=1")
    connection.execute("PRAGMA journal_mode=WAL")


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


def settle(connection: sqlite3.Connection) -> None:
    """Fold the log into the file; where that fails, on a full disk, the log keeps it all."""
    with suppress(sqlite3.Error):
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")


def format_of(connection: sqlite3.Connection) -> int:
    """Return the number of the file's format."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check_ours(connection: sqlite3.Connection, path: Path) -> None:
    """Raise JournalError unless the file is ours and of the format known here."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise faults.fault(path, *faults.FOREIGN)
    version = format_of(connection)
    if version != FORMAT:
        raise faults.fault(path, *(faults.OLDER if version < FORMAT else faults.NEWER))


def check(connection: sqlite3.Connection, path: Path) -> None:
    """Raise JournalError unless the file is ours, of the format known here, and whole."""
    check_ours(connection, path)
    signs = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if signs != "ok":
        raise faults.damaged(path, signs)
    _check_log(connection, path)


def session_of(connection: sqlite3.Connection, path: Path) -> tuple[dict[str, str | None], str]:
    """Return the session by column name, as it was written, and its seal."""
    rows = connection.execute(_SESSION).fetchall()
    if len(rows) != 1:
        raise faults.damaged(path, "its first page is empty")
    *values, sealed = rows[0]
    session = dict(zip(SESSION_COLUMNS, values, strict=True))
    is_text = all(isinstance(value, str) for name, value in session.items() if name != "draft_text")
    if not is_text or seal("", values) != sealed:
        raise faults.damaged(path, "its first page was changed")
    return session, sealed


def options_of(session: dict[str, str | None], path: Path) -> dict[str, Any]:
    """Return what a session was begun with."""
    with suppress(ValueError, RecursionError):
        options = clean_tree(json.loads(session["options"] or ""))
        if isinstance(options, dict):
            return options
    raise faults.damaged(path, "its options are not readable")


def holder_of(connection: sqlite3.Connection) -> str:
    """Return who walks the session, as `lock.holder` wrote it; "" where nobody does."""
    row = connection.execute("SELECT holder FROM session").fetchone()
    return "" if row is None else str(row[0])


def last_weaver(connection: sqlite3.Connection, since: str) -> str:
    """Return who signed the newest entry of those since a time, as it is to be shown."""
    query = "SELECT weaver FROM entry WHERE at >= ? ORDER BY number DESC LIMIT 1"
    row = connection.execute(query, (since,)).fetchone()
    return clean_line(str(row[0])) if row else ""


def stages_signed_by(connection: sqlite3.Connection, weaver: str) -> frozenset[str]:
    """Return the stages in which a weaver signed any entry."""
    rows = connection.execute("SELECT DISTINCT stage FROM entry WHERE weaver = ?", (weaver,))
    return frozenset(stage for (stage,) in rows)


def entries(connection: sqlite3.Connection, path: Path, after: int) -> Iterator[Entry]:
    """Yield the entries above `after` in order; JournalError if one was changed or is missing."""
    before = seal_at(connection, after)
    for *values, sealed in connection.execute(_ENTRIES, (after,)):
        after += 1
        if before is None or seal(before, values) != sealed:
            raise faults.damaged(path, f"entry {after} was changed or is missing")
        try:
            yield entry_of(tuple(values))
        except (ValueError, RecursionError) as error:
            raise faults.damaged(path, f"entry {after} makes no sense: {error}") from error
        before = sealed


def sealed_rows(connection: sqlite3.Connection, after: int) -> list[tuple[int, str, str]]:
    """Return the entries numbered above `after` in order: number, seal, and values as JSON."""
    rows = connection.execute(_ENTRIES, (after,)).fetchall()
    place = COLUMNS.index("number")
    return [(values[place], sealed, json.dumps(values)) for *values, sealed in rows]


def seal_at(connection: sqlite3.Connection, number: int) -> str | None:
    """Return the seal of an entry, for 0 that of the session; None where there is none."""
    where = f"entry WHERE number = {number:d}" if number else "session"
    row = connection.execute(f"SELECT seal FROM {where}").fetchone()
    return None if row is None else str(row[0])


def newest(connection: sqlite3.Connection, path: Path, walked: str = "") -> Entry | None:
    """Return the newest entry, or the newest that holds a state of a stage; None is none."""
    where = "WHERE stage = ? AND state IS NOT NULL" if walked else ""
    found = connection.execute(
        f"SELECT number FROM entry {where} ORDER BY number DESC LIMIT 1",
        (walked,) if walked else (),
    ).fetchone()
    return next(entries(connection, path, found[0] - 1)) if found else None


def of_kind(connection: sqlite3.Connection, path: Path, kind: str) -> Iterator[Entry]:
    """Yield the entries of one kind in order."""
    query = "SELECT number FROM entry WHERE kind = ? ORDER BY number"
    for (number,) in connection.execute(query, (kind,)).fetchall():
        yield next(entries(connection, path, number - 1))


def last_number(connection: sqlite3.Connection) -> int:
    """Return the number of the newest entry; 0 where there is none."""
    return int(connection.execute("SELECT max(number) FROM entry").fetchone()[0] or 0)


def insert(connection: sqlite3.Connection, added: Iterable[Row]) -> None:
    """Add entries that follow the newest one, numbers too, inside a transaction."""
    before = seal_at(connection, last_number(connection)) or ""
    for row in added:
        before = seal(before, row)
        connection.execute(_APPEND, (*row, before))


def build(path: Path, session: dict[str, str | None], added: Iterable[Row] = ()) -> None:
    """Write a whole new journal file at `path` by way of a file beside it.

    The rename is the moment it comes to be: a kill before it leaves no journal, after it a whole
    one. So all is written to the disk at once, at the end, by the change to a write-ahead log. The
    caller holds the lock of the folder.
    """
    draft = path.with_name(f"{path.name}.new")
    _remove(draft)
    try:
        with closing(connect(draft, mode="rwc")) as connection:
            connection.execute("PRAGMA journal_mode=MEMORY")
            connection.execute("PRAGMA synchronous=OFF")
            with atomic(connection):
                connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
                for table in _TABLES:
                    connection.execute(table)
                connection.execute(f"PRAGMA user_version={FORMAT}")
                values = [session[name] for name in SESSION_COLUMNS]
                connection.execute(_NEW_SESSION, (*values, seal("", values)))
                insert(connection, added)
            make_durable(connection)
        draft.rename(path)
    except BaseException:
        with suppress(OSError):
            _remove(draft)
        raise
    flush_folder(path.parent)


def _remove(path: Path) -> None:
    """Remove a database with its logs: an old log would be replayed into a new file."""
    for each in with_logs(path):
        each.unlink(missing_ok=True)


def is_free(path: Path) -> bool:
    """Return whether nothing stands here: even a log alone would be replayed into a new file."""
    return not any(each.exists() for each in with_logs(path))


def with_logs(path: Path) -> tuple[Path, ...]:
    """Return the file's path and those of what SQLite may keep beside it."""
    return tuple(path.with_name(f"{path.name}{end}") for end in ("", "-wal", "-shm"))


def slug(title: str) -> str:
    """Return the first words of a title in small letters joined by hyphens, without accents."""
    apart = unicodedata.normalize("NFKD", title.lower().replace("'", ""))
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    words = re.findall(r"[^\W_]+", unicodedata.normalize("NFC", plain))[:_MOST_WORDS]
    name = "-".join(words)[:_MOST_LETTERS].rstrip("-") or "session"
    return f"plan-{name}" if is_reserved(name) else name


def free_path(folder: Path, title: str, wanted: str = "") -> Path:
    """Return the path of a new session, wanted if it fits the title, else with a free number."""
    name = slug(title)
    is_fit = re.fullmatch(rf"{re.escape(name)}-[1-9][0-9]{{0,5}}", wanted)
    names = chain([wanted] if is_fit else [], (f"{name}-{number}" for number in count(1)))
    paths = (folder / f"{each}{SUFFIX}" for each in names)
    return next(path for path in paths if is_free(path))
