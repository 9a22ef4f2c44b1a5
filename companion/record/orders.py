"""What one server of a school asks another to do, by way of their PostgreSQL database.

An order is taken once or not at all: the server it is for takes it while it is new, and whoever
asked may withdraw it only until then.
"""

from __future__ import annotations

import json
import uuid
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple

if TYPE_CHECKING:
    from psycopg import Connection

CHANNEL: Final = "companion_order"
NEW_SECONDS: Final = 20.0
"""An order that was not taken by then never is."""
TABLE: Final = """
CREATE TABLE IF NOT EXISTS companion_order (
    id text PRIMARY KEY, server text NOT NULL, asked text NOT NULL, at timestamptz NOT NULL,
    state text NOT NULL DEFAULT 'asked', answer text NOT NULL DEFAULT '');
"""
State = Literal["asked", "taken", "done", "refused"]


class Order(NamedTuple):
    """What a server is asked to do."""

    id: str
    asked: dict[str, str]


class Orders:
    """What one server asks and is asked; used by one thread.

    There is news of orders as soon as it is made.

    Every method raises psycopg.Error where the database does not answer.

    Args:
        connection: to the database, whose tables are made.
        server: this server's name.
    """

    def __init__(self, connection: Connection[Any], server: str) -> None:
        self._connection = connection
        self._server = server
        connection.execute(f"LISTEN {CHANNEL}")

    def wait(self, seconds: float) -> None:
        """Wait for news of any order, at most so long; news may be lost while away."""
        for _ in self._connection.notifies(timeout=seconds, stop_after=1):
            pass

    def ask(self, server: str, asked: dict[str, str]) -> str:
        """Ask another server for something; return the order's name."""
        identity = uuid.uuid4().hex
        with self._connection.transaction():
            self._connection.execute(
                "DELETE FROM companion_order WHERE at < now() - interval '1 day'"
            )
            self._connection.execute(
                "INSERT INTO companion_order (id, server, asked, at) VALUES (%s, %s, %s, now())",
                (identity, server, json.dumps(asked)),
            )
            self._tell()
        return identity

    def outcome(self, order: str) -> tuple[State, str]:
        """Return what has become of an order, and what was answered."""
        found = self._connection.execute(
            "SELECT state, answer FROM companion_order WHERE id = %s", (order,)
        ).fetchone()
        return (found[0], found[1]) if found else ("refused", "")

    def withdraw(self, order: str) -> bool:
        """Take an order back; return whether that was in time."""
        query = "DELETE FROM companion_order WHERE id = %s AND state = 'asked'"
        return self._connection.execute(query, (order,)).rowcount == 1

    def take(self) -> list[Order]:
        """Return what this server is asked to do now, the oldest first, each order once."""
        found = self._connection.execute(
            "UPDATE companion_order SET state = 'taken' WHERE server = %s AND state = 'asked' "
            "AND at > now() - %s * interval '1 second' RETURNING at, id, asked",
            (self._server, NEW_SECONDS),
        ).fetchall()
        return [Order(identity, json.loads(asked)) for _, identity, asked in sorted(found)]

    def answer(self, order: str, text: str, *, is_done: bool) -> None:
        """Tell what has become of an order."""
        with self._connection.transaction():
            self._connection.execute(
                "UPDATE companion_order SET state = %s, answer = %s WHERE id = %s",
                ("done" if is_done else "refused", text, order),
            )
            self._tell()

    def _tell(self) -> None:
        self._connection.execute("SELECT pg_notify(%s, %s)", (CHANNEL, self._server))
