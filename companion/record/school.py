"""Sessions of several servers in one PostgreSQL database: sent after each commit, and taken up.

Each server's own files stay the record; the database holds copies of their entries. An entry is
known by its session and number, and by its seal, which hangs on all entries before it: where the
seal of one is the same, all before it are.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from companion.base.clean import clean_line
from companion.base.errors import CompanionError
from companion.record import carry, orders, store
from companion.record.entry import COLUMNS
from companion.record.journal import Journal

if TYPE_CHECKING:
    import sqlite3

    from psycopg import Connection

    from companion.record.carry import Brought

CHANNEL: Final = "companion"
LEASE_SECONDS: Final = 20.0
"""How long a server that is not heard from keeps a session to itself."""
_SAME_SECONDS: Final = 1.0
"""Clocks that differ by less count as alike."""
_BATCH: Final = 500
_LOCK: Final = 0x4C6F4F6D
_TABLES: Final = """
CREATE TABLE IF NOT EXISTS companion_session (
    name text PRIMARY KEY, identity text NOT NULL, server text NOT NULL, title text NOT NULL,
    page text NOT NULL, sealed text NOT NULL);
CREATE TABLE IF NOT EXISTS companion_entry (
    session text NOT NULL REFERENCES companion_session, number bigint NOT NULL,
    seal text NOT NULL, content text NOT NULL, PRIMARY KEY (session, number));
CREATE TABLE IF NOT EXISTS companion_lease (
    session text PRIMARY KEY, holder text NOT NULL, fence bigint NOT NULL,
    until timestamptz NOT NULL);
CREATE TABLE IF NOT EXISTS companion_loom (
    server text NOT NULL, key text NOT NULL, standing text NOT NULL, at timestamptz NOT NULL,
    PRIMARY KEY (server, key));
DO $$ BEGIN
    IF NOT EXISTS (SELECT FROM information_schema.columns
        WHERE table_name = 'companion_entry' AND column_name = 'server') THEN
        ALTER TABLE companion_entry ADD COLUMN server text NOT NULL DEFAULT '';
    END IF;
END $$;
"""
_TAKE_LEASE: Final = """
INSERT INTO companion_lease AS held (session, holder, fence, until)
VALUES (%(session)s, %(server)s, 1, now() + %(seconds)s * interval '1 second')
ON CONFLICT (session) DO UPDATE SET
    holder = excluded.holder, until = excluded.until,
    fence = held.fence + (held.holder <> excluded.holder)::int
WHERE held.until < now() OR held.holder = excluded.holder
RETURNING fence
"""
_INSERT: Final = """
INSERT INTO companion_entry (session, server, number, seal, content)
SELECT %s, %s, * FROM unnest(%s::bigint[], %s::text[], %s::text[])
ON CONFLICT DO NOTHING
"""


class Sent(NamedTuple):
    """What came of sending a session."""

    entries: int
    """Sent now."""
    name: str = ""
    """Under which the entries of this server are kept where another went on with the session too;
    "" where nothing parts."""


class Holder(NamedTuple):
    """Who has a session to itself."""

    server: str
    """"" where it was given back."""
    is_there: bool
    """Whether it has been heard from lately."""


class Elsewhere(NamedTuple):
    """A loom of another server."""

    server: str
    values: dict[str, Any]
    is_there: bool
    """Whether its server has been heard from lately."""


class Newest(NamedTuple):
    """How far the database has a session."""

    name: str
    identity: str
    title: str
    number: int
    at: str
    """UTC, ISO 8601."""


class _PartedError(Exception):
    """Another server wrote other entries of the same session meanwhile."""


class School:
    """What one server reads and writes there; used by one thread.

    Every method raises psycopg.Error where the database does not answer.
    """

    def __init__(
        self, connection: Connection[Any], server: str, clock: Callable[[], float] = time.time
    ) -> None:
        self.connection = connection
        self._server = server
        self._clock = clock
        self._lead = 0.0

    def prepare(self) -> None:
        """Make the tables where they are not there; one server after the other."""
        with self.connection.transaction():
            self.connection.execute("SELECT pg_advisory_xact_lock(%s)", (_LOCK,))
            self.connection.execute(_TABLES)
            self.connection.execute(orders.TABLE)

    # ---- entries

    def send(self, path: Path) -> Sent:
        """Send what is new in a session's file, in order, all of it or nothing; JournalError."""
        with closing(store.connect_to_read(path)) as local:
            session, sealed = store.session_of(local, path)
            identity = session["identity"] or ""
            parted = f"{identity}@{self._server}"
            try:
                with self.connection.transaction():
                    name = identity if self._may_continue(local, identity) else parted
                    if name == parted and self._holds_all(local, identity):
                        return Sent(0)
                    sent = self._send(local, name, session, sealed)
            except _PartedError:
                name = parted
                with self.connection.transaction():
                    sent = self._send(local, name, session, sealed)
        return Sent(sent, "" if name == identity else name)

    def _may_continue(self, local: sqlite3.Connection, name: str) -> bool:
        """Say whether this server's entries follow on those that are there."""
        held = self._row(
            "SELECT holder, until > now() FROM companion_lease WHERE session = %s FOR UPDATE", name
        )
        if held is not None and held[1] and held[0] != self._server:
            return False
        number, seal = self._last(name)
        return not number or store.seal_at(local, number) == seal

    def _holds_all(self, local: sqlite3.Connection, name: str) -> bool:
        """Say whether the database has all that is in the file, and perhaps more."""
        number = store.last_number(local)
        query = "SELECT seal FROM companion_entry WHERE session = %s AND number = %s"
        return not number or self._row(query, name, number) == (store.seal_at(local, number),)

    def _last(self, name: str) -> tuple[int, str]:
        query = (
            "SELECT number, seal FROM companion_entry WHERE session = %s "
            "ORDER BY number DESC LIMIT 1"
        )
        return self._row(query, name) or (0, "")

    def _row(self, query: str, *values: object) -> Any:
        """Return the first row that is found, or None."""
        return self.connection.execute(query, values).fetchone()

    def _send(
        self, local: sqlite3.Connection, name: str, session: dict[str, str | None], sealed: str
    ) -> int:
        page = json.dumps(session)
        self.connection.execute(
            "INSERT INTO companion_session VALUES (%s, %s, %s, %s, %s, %s) ON CONFLICT DO NOTHING",
            (
                name,
                session["identity"],
                self._server,
                clean_line(session["title"] or ""),
                page,
                sealed,
            ),
        )
        number, _ = self._last(name)
        rows = store.sealed_rows(local, number)
        for first in range(0, len(rows), _BATCH):
            self._insert(name, rows[first : first + _BATCH])
        if rows:
            self.connection.execute("SELECT pg_notify(%s, %s)", (CHANNEL, name))
        return len(rows)

    def _insert(self, name: str, rows: list[tuple[int, str, str]]) -> None:
        numbers, seals, contents = (list(each) for each in zip(*rows, strict=True))
        self.connection.execute(_INSERT, (name, self._server, numbers, seals, contents))
        # One of the same number that was there already is passed over, whatever it holds.
        if self._last(name) != (numbers[-1], seals[-1]):
            raise _PartedError

    def sessions(self) -> list[tuple[str, str, str]]:
        """Return the sessions of other servers: name, title and server."""
        return self.connection.execute(
            "SELECT name, title, server FROM companion_session WHERE server <> %s ORDER BY name",
            (self._server,),
        ).fetchall()

    def take_in(
        self, name: str, folder: Path, *, check: Callable[[Journal], object] = bool
    ) -> Brought:
        """Take a session into a folder; nothing there is lost or mixed. Else CompanionError."""
        with self.copy(name) as (there, server):
            check(there)
            return carry.take_in(there, folder, machine=server)

    @contextmanager
    def copy(self, name: str) -> Iterator[tuple[Journal, str]]:
        """Yield a copy of a session, to be read meanwhile, and the server that began to send it.

        Else CompanionError.
        """
        found = self._row("SELECT page, server FROM companion_session WHERE name = %s", name)
        if found is None:
            raise CompanionError(f"The school's record has no session {name!r:.80}.")
        contents = self.connection.execute(
            "SELECT content FROM companion_entry WHERE session = %s ORDER BY number", (name,)
        ).fetchall()
        with TemporaryDirectory(prefix="companion-") as kept:
            path = Path(kept) / f"shared{store.SUFFIX}"
            store.build(path, json.loads(found[0]), [tuple(json.loads(row)) for (row,) in contents])
            with Journal.open(path, read_only=True) as there:
                yield there, found[1]

    # ---- what was done where

    def newest(self) -> list[Newest]:
        """Return how far the database has each session that has entries, by name."""
        place = COLUMNS.index("at")
        found = self.connection.execute(
            "SELECT name, identity, title, number, content::json ->> %s::int "
            "FROM companion_session CROSS JOIN LATERAL (SELECT number, content "
            "FROM companion_entry WHERE session = name ORDER BY number DESC LIMIT 1) AS entry "
            "ORDER BY name",
            (place,),
        ).fetchall()
        return [Newest(*each) for each in found]

    def servers(self, name: str, after: int) -> list[str]:
        """Return who sent the entries of a session that are numbered above `after`."""
        query = (
            "SELECT DISTINCT server FROM companion_entry WHERE session = %s AND number > %s "
            "AND server <> '' ORDER BY server"
        )
        return [server for (server,) in self.connection.execute(query, (name, after))]

    def in_common(self, name: str, path: Path) -> int:
        """Return the number of the last entry that a session's file here has too; 0 for none."""
        rows = self.connection.execute(
            "SELECT number, seal FROM companion_entry WHERE session = %s ORDER BY number DESC",
            (name,),
        )
        with closing(store.connect_to_read(path)) as local:
            return next(
                (number for number, seal in rows if store.seal_at(local, number) == seal), 0
            )

    # ---- leases

    def lease(self, session: str) -> int | None:
        """Have a session to this server alone for a while; None where another server has it.

        Returns the number of times that it has changed hands.
        """
        found = self.connection.execute(
            _TAKE_LEASE, {"session": session, "server": self._server, "seconds": LEASE_SECONDS}
        ).fetchone()
        return found[0] if found else None

    def holder(self, session: str) -> Holder | None:
        """Return who has a session to itself; None where nobody ever had."""
        query = "SELECT holder, until > now() FROM companion_lease WHERE session = %s"
        found = self._row(query, session)
        return Holder(*found) if found else None

    def give_back(self, session: str) -> None:
        """Let others have a session."""
        self.connection.execute(
            "UPDATE companion_lease SET holder = '', until = now() - interval '1 second' "
            "WHERE session = %s AND holder = %s",
            (session, self._server),
        )

    # ---- looms

    def show(self, key: str, values: dict[str, Any] | None) -> None:
        """Have other servers' teachers see how a loom stands; None takes it away."""
        if values is None:
            query = "DELETE FROM companion_loom WHERE server = %s AND key = %s"
            self.connection.execute(query, (self._server, key))
        else:
            values = _moved(values, self._measured_lead())
            self.connection.execute(
                "INSERT INTO companion_loom VALUES (%s, %s, %s, now()) ON CONFLICT (server, key) "
                "DO UPDATE SET standing = excluded.standing, at = now()",
                (self._server, key, json.dumps(values)),
            )

    def tell(self) -> None:
        """Wake whoever looks on, and say that this server is there."""
        with self.connection.transaction():
            self.connection.execute(
                "UPDATE companion_loom SET at = now() WHERE server = %s", (self._server,)
            )
            self.connection.execute("SELECT pg_notify(%s, %s)", (CHANNEL, ""))

    def looms(self) -> list[Elsewhere]:
        """Return how the looms of other servers stand."""
        found = self.connection.execute(
            "SELECT server, standing, at > now() - %s * interval '1 second' FROM companion_loom "
            "WHERE server <> %s ORDER BY server, key",
            (LEASE_SECONDS, self._server),
        ).fetchall()
        lead = self._measured_lead()
        return [
            Elsewhere(server, _moved(json.loads(standing), -lead), there)
            for server, standing, there in found
        ]

    def _measured_lead(self) -> float:
        """Return the seconds by which the database's clock is before this machine's.

        Times are kept by the database's clock, so that no server need trust another's.
        """
        lead = self._row("SELECT extract(epoch FROM clock_timestamp())::float")[0] - self._clock()
        if abs(lead - self._lead) > _SAME_SECONDS:  # else a time would be another at each look
            self._lead = lead
        return self._lead


def _moved(values: dict[str, Any], seconds: float) -> dict[str, Any]:
    """Return how a loom stands, with the time it was heard of moved from one clock to another."""
    heard_at = values.get("heard_at")
    return {**values, "heard_at": heard_at + seconds} if heard_at else values
