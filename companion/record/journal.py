"""The journal of one session: what was done, committed before it is spoken."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, Self
from uuid import uuid4

from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.record import faults, lock, store
from companion.record.entry import Entry, Row, change_in, entry_of, row_of, utc_now


class Journal:
    """The open record of one session; use `create` or `open`, and close it.

    One process at a time may write; any number may read beside it. Opening reads and checks every
    entry. Every error is a JournalError. Used by one thread only.
    """

    def __init__(
        self, path: Path, connection: sqlite3.Connection, ending: ExitStack, held: str = ""
    ) -> None:
        self.path = path
        self._connection = connection
        self._ending = ending
        self._held = held
        self._is_claimed = False
        self._inode = _inode(path)
        self._last: Entry | None = None
        self._latest: dict[str, Entry] = {}
        self.weaver = ""
        """Who sits at the loom, written with each entry; "" is nobody named."""
        self.was_cut_off = False
        """Whether the file was copied while it was walked, or has lost its log: what was done last
        may be missing."""
        with faults.plainly(path):
            self._session, _ = store.session_of(connection, path)
        self.title = clean_line(self._session["title"] or "")
        self.plan_path = clean_line(self._session["plan_path"] or "")
        self.plan_text = self._session["plan_text"] or ""
        self.draft_text = self._session["draft_text"]
        self.fingerprint = self._session["fingerprint"] or ""
        self.identity = self._session["identity"] or ""
        """The same in every copy of the session, on whatever machine, and in no other session."""
        self.origin = clean_line(self._session["origin"] or "")
        """The machine on which it was begun."""
        self.options: dict[str, Any] = store.options_of(self._session, path)
        """What is walked of the plan; like the plan's texts, as it is now."""
        self._read_on()

    @classmethod
    def create(
        cls,
        folder: Path,
        *,
        title: str,
        plan_path: str = "",
        plan_text: str = "",
        draft_text: str | None = None,
        fingerprint: str = "",
        options: dict[str, Any],
    ) -> Self:
        """Begin a session in `folder`, made and locked, by a file that is whole or not there."""
        session = {
            "title": clean_line(title),
            "plan_path": _storable(plan_path),
            "plan_text": _storable(plan_text),
            "draft_text": None if draft_text is None else _storable(draft_text),
            "fingerprint": fingerprint,
            "options": json.dumps(options),
            "created": utc_now(),
            "identity": uuid4().hex,
            "origin": clean_line(lock.machine()),
        }
        with lock.folder(folder):
            return cls._begin(store.free_path(folder, title), session)

    @classmethod
    def copy_of(cls, other: Journal, folder: Path, name: str = "") -> Self:
        """Begin in `folder`, whose lock is held, the session that `other` holds, whole or not.

        It is called `name` where that is a session's name and free, else by its title.
        """
        path = store.free_path(folder, other.title, name)
        return cls._begin(path, other._session, map(row_of, other.entries()))

    @classmethod
    def _begin(cls, path: Path, session: dict[str, str | None], added: Iterable[Row] = ()) -> Self:
        with faults.plainly(path):
            store.build(path, session, added)
        return cls.open(path)

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Open a session to walk it, or only to read it while someone may be walking it.

        Raises JournalError where it is not there, not ours, damaged, or walked by another process,
        which the message names.
        """
        if not path.is_file():
            raise faults.fault(
                path, "there is no such session", "`companion sessions` lists those there are"
            )
        with faults.plainly(path), ExitStack() as ending:
            if not read_only:
                ending.enter_context(lock.alone(path))
            has_log = store.has_log(path)
            connect = store.connect_to_read if read_only else store.connect_to_write
            connection = ending.enter_context(closing(connect(path)))
            store.check(connection, path)
            was_walked = bool(store.holder_of(connection))
            journal = cls(path, connection, ending, "" if read_only else lock.holder(utc_now()))
            journal.was_cut_off = was_walked and not has_log
            if not read_only:
                journal._take_over()  # its own
            journal._ending = ending.pop_all()
            return journal

    def _take_over(self) -> None:
        """Write who walks it from now on; on a full disk, with the first that finds room."""
        self._ending.callback(self._leave)
        self._connection.execute("PRAGMA synchronous=NORMAL")
        try:
            self._claim()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode not in faults.NO_ROOM:
                raise
        store.make_durable(self._connection)

    def _claim(self) -> None:
        self._connection.execute("UPDATE session SET holder = ?", (self._held,))
        self._is_claimed = True

    def _leave(self) -> None:
        """Write into the file that nobody walks it any more, and make it whole by itself."""
        with suppress(sqlite3.Error):  # the log of a full disk still holds all entries
            self._connection.execute(
                "UPDATE session SET holder = '' WHERE holder = ?", (self._held,)
            )
        store.settle(self._connection)
        self._connection.close()

    @property
    def id(self) -> str:
        """The session's name, as in "harbour-towels-1"."""
        return self.path.stem

    def append(self, entry: Entry, *more: Entry) -> Entry:
        """Commit entries to the disk and return the last as it was written, with its number.

        On an error nothing of any is kept and the journal can be used on.
        """
        with self._writing():
            if _inode(self.path) != self._inode:
                raise faults.fault(self.path, *faults.REPLACED)
            number, now = store.last_number(self._connection) + 1, utc_now()
            rows = [
                row_of(
                    replace(
                        each,
                        weaver=each.weaver or self.weaver,
                        at=each.at or now,
                        number=number + place,
                    )
                )
                for place, each in enumerate((entry, *more))
            ]
            store.insert(self._connection, rows)
        for row in rows:
            self._took(written := entry_of(row))
        return written

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Commit what the block writes; JournalError where somebody has taken over since."""
        with faults.plainly(self.path):
            if not self._is_claimed:
                self._connection = store.with_room(self._connection, self.path)
                self._claim()
            with store.atomic(self._connection):
                if self._held != store.holder_of(self._connection):
                    raise JournalError(lock.already_walked(self.path))
                yield

    def settle(self) -> None:
        """Fold the log into the file, so that a plain copy of it holds all that was appended.

        Takes longer than `append`, so it is for when nobody waits.
        """
        store.settle(self._connection)

    def is_copy_of(self, other: Journal) -> bool:
        """Whether both are one session, begun once, however far each has come."""
        return self._session == other._session

    def continue_with(self, other: Journal) -> int:
        """Take over all that `other`, the same session gone on with elsewhere, has beyond this.

        All of it is committed at once, or nothing; returns how many entries there were. The
        caller has made sure that this session's entries are the other's first ones.
        """
        added = [row_of(entry) for entry in other.entries(after=self.length)]
        with self._writing():
            store.insert(self._connection, added)
        return len(added)

    def back_up(self, path: Path) -> None:
        """Write a copy of the file as it is now to `path`, also while the session is walked."""
        with faults.plainly(path), closing(sqlite3.connect(path)) as copy:
            self._connection.backup(copy)

    def last_state(self, stage: str) -> str | None:
        """Return the stage's latest committed state as JSON; None where it was never walked."""
        self._read_on()
        latest = self._latest.get(stage)
        return latest.state if latest else None

    def stages(self) -> tuple[Entry, ...]:
        """Return the latest entry with a state of each stage, in the order they were begun."""
        self._read_on()
        return tuple(self._latest.values())

    def last_entry(self) -> Entry | None:
        """Return the newest entry; None in a journal just begun."""
        self._read_on()
        return self._last

    @property
    def length(self) -> int:
        """How many entries it holds."""
        last = self.last_entry()
        return last.number if last else 0

    def entries(self, *, after: int = 0) -> Iterator[Entry]:
        """Yield the entries numbered above `after` in order, read as they are wanted."""
        with faults.plainly(self.path):
            yield from store.entries(self._connection, self.path, after)

    def _read_on(self) -> None:
        """Take in what was appended since it was looked at last, here or by a walker."""
        for entry in self.entries(after=self._last.number if self._last else 0):
            self._took(entry)

    def _took(self, entry: Entry) -> None:
        self._last = entry
        self.weaver = entry.weaver or self.weaver
        if entry.state is not None:
            self._latest[entry.stage] = entry
        now = change_in(entry)
        self.options.update(now.options)
        if now.fingerprint:
            self.fingerprint = now.fingerprint
            self.plan_text, self.draft_text = now.plan_text, now.draft_text

    def close(self) -> None:
        """Fold the log into the file and let go of the lock; closing twice is harmless."""
        with faults.plainly(self.path):
            self._ending.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _inode(path: Path) -> int:
    """Return which file has this name; 0 is none."""
    try:
        return path.stat().st_ino
    except FileNotFoundError:
        return 0


def _storable(text: str) -> str:
    """Return text that SQLite can hold: bytes that were no UTF-8 become question marks."""
    return text.encode("utf-8", "replace").decode("utf-8")
