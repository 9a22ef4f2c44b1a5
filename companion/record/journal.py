"""The journal of one session: what was done, committed before it is spoken."""

from __future__ import annotations

import json
import sqlite3
from contextlib import ExitStack, closing
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Self
from uuid import uuid4

from companion.base.errors import JournalError
from companion.record import faults, holder, lock, naming, store
from companion.record.entry import Entry, EntryKind, Source, StageRecord, utc_now

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

_LATEST_STATE = """
    SELECT state FROM entry WHERE stage = ? AND state IS NOT NULL ORDER BY number DESC LIMIT 1
"""
_STAGES = """
    SELECT stage, position, total, is_finished FROM entry WHERE number IN
        (SELECT max(number) FROM entry WHERE state IS NOT NULL GROUP BY stage)
    ORDER BY (SELECT min(number) FROM entry AS first
              WHERE first.stage = entry.stage AND first.state IS NOT NULL)
"""


class Journal:
    """The open record of one session; use `create` or `open`, and close it.

    One process at a time may write; any number may read beside it. Every error is a JournalError.
    Used by one thread only.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, ending: ExitStack) -> None:
        self.path = path
        self._connection = connection
        self._ending = ending
        with faults.plainly(path):
            self._session = store.session_of(connection)
            self.weaver = self._last_weaver()
            """Who sits at the loom, written with each entry; "" is nobody named."""
        self.title = self._session["title"] or ""
        self.plan_path = self._session["plan_path"] or ""
        self.plan_text = self._session["plan_text"] or ""
        self.draft_text = self._session["draft_text"]
        self.fingerprint = self._session["fingerprint"] or ""
        self.created = self._session["created"] or ""
        """UTC, ISO 8601."""
        self.identity = self._session["identity"] or ""
        """The same in every copy of the session, on whatever machine, and in no other session."""
        self.origin = self._session["origin"] or ""
        """The machine on which it was begun; "" where that was not recorded."""
        self.options: dict[str, Any] = _object(path, self._session["options"] or "")

    @classmethod
    def create(
        cls,
        folder: Path,
        *,
        title: str,
        plan_path: str,
        plan_text: str,
        draft_text: str | None,
        fingerprint: str,
        options: dict[str, Any],
    ) -> Self:
        """Begin a session in `folder`, made if it is not there, and hold its lock.

        A kill at any moment leaves either no session or a whole one.
        """
        session = {
            "title": _storable(title),
            "plan_path": _storable(plan_path),
            "plan_text": _storable(plan_text),
            "draft_text": None if draft_text is None else _storable(draft_text),
            "fingerprint": fingerprint,
            "options": json.dumps(options),
            "created": utc_now(),
            "identity": uuid4().hex,
            "origin": _storable(holder.machine()),
        }
        return cls._begin(folder, naming.free_paths(folder, title), session)

    @classmethod
    def copy_of(cls, other: Journal, folder: Path, name: str = "") -> Self:
        """Begin in `folder` the session that `other` holds, whole, and hold its lock.

        It is called `name` where that is a session's name and free, else by its title. A kill at
        any moment leaves either no session or a whole one.
        """
        return cls._begin(
            folder,
            naming.free_paths(folder, other.title, name),
            other._session,
            map(_row, other.entries()),
        )

    @classmethod
    def _begin(
        cls,
        folder: Path,
        paths: Iterable[Path],
        session: dict[str, str | None],
        rows: Iterable[store.Row] = (),
    ) -> Self:
        """Write a session at the first of `paths` that is free."""
        with faults.plainly(folder), ExitStack() as ending:
            folder.mkdir(parents=True, exist_ok=True)
            for path in paths:
                held = lock.take(path)
                if held is None:
                    continue
                ending.callback(held.release)
                # Someone may have begun and ended the same name since it was looked for.
                if not path.exists():
                    store.build(path, session, rows)
                    return cls._walk(path, ending.pop_all())
        raise AssertionError  # pragma: no cover - the names never end

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Open a session to walk it, or only to read it while someone may be walking it.

        Raises:
            JournalError: not there, not ours, damaged, or walked by another process, which the
                message names.
        """
        if not path.is_file():
            raise faults.fault(
                path, "there is no such session", "`companion sessions` lists those there are"
            )
        with faults.plainly(path), ExitStack() as ending:
            if read_only:
                connection = ending.enter_context(closing(store.connect_to_read(path)))
                store.check(connection, path)
                return cls(path, connection, ending.pop_all())
            held = lock.take(path)
            if held is None:
                raise JournalError(holder.already_walked(path))
            ending.callback(held.release)
            return cls._walk(path, ending.pop_all())

    @classmethod
    def _walk(cls, path: Path, held: ExitStack) -> Self:
        """Connect for writing; `held` releases the lock when all is over."""
        with held as ending:
            connection = ending.enter_context(closing(store.connect(path, mode="rw")))
            store.check(connection, path)
            store.make_durable(connection)
            store.migrate(connection)
            connection.execute("UPDATE session SET holder = ?", (holder.holder(utc_now()),))
            return cls(path, connection, ending.pop_all())

    @property
    def id(self) -> str:
        """The session's name, as in "harbour-towels-1"."""
        return self.path.stem

    def append(self, entry: Entry) -> Entry:
        """Commit an entry to the disk and return it with its number.

        On an error nothing of it is kept and the journal can be used on.
        """
        written = replace(entry, weaver=entry.weaver or self.weaver)
        with faults.plainly(self.path), store.atomic(self._connection):
            number = self._connection.execute(store.INSERT, _row(written)).lastrowid
        return replace(written, number=number or 0)

    def is_copy_of(self, other: Journal) -> bool:
        """Whether both are one session, begun once, however far each has come."""
        return self._session == other._session

    def continue_with(self, other: Journal) -> int:
        """Take over all that `other`, the same session gone on with elsewhere, has beyond this.

        All of it is committed at once, or nothing. The caller has made sure that this session's
        entries are the other's first ones.

        Returns:
            How many entries were added.
        """
        last = self.last_entry()
        here = last.number if last else 0
        rows = [_row(entry) for entry in other.entries(after=here)]
        with faults.plainly(self.path), store.atomic(self._connection):
            store.insert(self._connection, rows)
        return len(rows)

    def back_up(self, path: Path) -> None:
        """Write a copy of the file as it is now to `path`, also while the session is walked."""
        with faults.plainly(path), closing(sqlite3.connect(path)) as copy:
            self._connection.backup(copy)

    def last_state(self, stage: str) -> str | None:
        """Return the stage's latest committed state as JSON; None where it was never walked."""
        value = self._one(_LATEST_STATE, stage)
        return None if value is None else str(value)

    def stages(self) -> tuple[StageRecord, ...]:
        """Return how far each stage has come, in the order they were begun."""
        with faults.plainly(self.path):
            rows = self._connection.execute(_STAGES).fetchall()
        return tuple(
            StageRecord(name, position, total, bool(is_finished))
            for name, position, total, is_finished in rows
        )

    def entries(self, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries numbered above `after` in order, read as they are wanted."""
        with faults.plainly(self.path):
            for row in store.entries_after(self._connection, after):
                yield _entry(self.path, row)

    def last_entry(self) -> Entry | None:
        """Return the newest entry; None in a journal just begun."""
        newest = self._one("SELECT max(number) FROM entry")
        return None if newest is None else next(self.entries(after=int(newest) - 1), None)

    def close(self) -> None:
        """Fold the log into the file and let go of the lock; closing twice is harmless."""
        with faults.plainly(self.path):
            self._ending.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _one(self, query: str, *values: str) -> Any:
        with faults.plainly(self.path):
            row = self._connection.execute(query, values).fetchone()
        return None if row is None else row[0]

    def _last_weaver(self) -> str:
        row = self._connection.execute(
            "SELECT weaver FROM entry WHERE weaver <> '' ORDER BY number DESC LIMIT 1"
        ).fetchone()
        return "" if row is None else str(row[0])


def _entry(path: Path, row: store.Row) -> Entry:
    values: dict[str, Any] = dict(zip(store.ENTRY, row, strict=True))
    try:
        kind, source = EntryKind(values["kind"]), Source(values["source"])
    except ValueError as error:
        raise faults.damaged(path, f"entry {values['number']}: {error}") from error
    is_finished = bool(values["is_finished"])
    return Entry(**{**values, "kind": kind, "source": source, "is_finished": is_finished})


def _object(path: Path, text: str) -> dict[str, Any]:
    try:
        value = json.loads(text)
    except ValueError as error:
        raise faults.damaged(path, "its options are not readable") from error
    return dict(value)


def _storable(text: str) -> str:
    """Return text that SQLite can hold: bytes that were no UTF-8 become question marks."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _row(entry: Entry) -> store.Row:
    """Return an entry's values in the order of the table."""
    storable = replace(entry, words=_storable(entry.words), weaver=_storable(entry.weaver))
    return (entry.number or None, *(getattr(storable, name) for name in store.ENTRY[1:]))
