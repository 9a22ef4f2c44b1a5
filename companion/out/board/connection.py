"""One browser's connection: a request comes whole in time, and no address takes all the room."""

import asyncio
from collections.abc import Iterable
from typing import Any, Final

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

REQUEST_SECONDS: Final = 10.0
"""How long a request, head and body, may take to arrive."""
MOST_CONNECTIONS: Final = 600
MOST_AN_ADDRESS: Final = 300
"""Connections of one address."""
MOST_UNFINISHED: Final = 100
"""Requests under way; at one more, the oldest of the address with most of them gives way."""
_UNFINISHED: Final = frozenset({h11.IDLE, h11.SEND_BODY})


class Connection(H11Protocol):
    """uvicorn's own protocol, with a limit of seconds within which a request must be whole."""

    def __init__(self, *, seconds: float = REQUEST_SECONDS, **given: Any) -> None:
        super().__init__(**given)
        self._seconds = seconds
        self._deadline: asyncio.TimerHandle | None = None
        self._is_line = False

    @property
    def address(self) -> str:
        """The other side's address."""
        return _address(self)

    @property
    def gives_up_at(self) -> float | None:
        """When the request under way must be whole, by the loop's clock; None where none is."""
        return self._deadline.when() if self._deadline else None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a request."""
        super().connection_made(transport)
        own = [each for each in self.connections if _address(each) == self.address]
        if len(own) > MOST_AN_ADDRESS:
            transport.abort()
            return
        self._wait()
        _make_room(each for each in self.connections if isinstance(each, Connection))

    def data_received(self, data: bytes) -> None:
        """Take a part of a request; once it is whole there is no more hurry."""
        super().data_received(data)
        if self._is_line or self.conn.their_state not in _UNFINISHED:
            self._rest()
        elif self._deadline is None and not self.transport.is_closing():
            self._wait()

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        """Leave the connection to the other protocol."""
        self._is_line = True
        super().handle_websocket_upgrade(event)

    def connection_lost(self, exc: Exception | None) -> None:
        """Let the connection go."""
        self._rest()
        super().connection_lost(exc)

    def give_up(self) -> None:
        """End a connection whose request does not come."""
        self._rest()
        self.transport.abort()

    def _wait(self) -> None:
        self._deadline = self.loop.call_later(self._seconds, self.give_up)

    def _rest(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None


def _address(connection: asyncio.Protocol) -> str:
    client: tuple[str, int] | None = getattr(connection, "client", None)
    return client[0] if client else ""


def _make_room(connections: Iterable[Connection]) -> None:
    """End the oldest unfinished request of the address that has most, where there are too many."""
    waiting = [each for each in connections if each.gives_up_at is not None]
    if len(waiting) <= MOST_UNFINISHED:
        return
    addresses = [each.address for each in waiting]
    busiest = max(addresses, key=addresses.count)
    oldest = min(
        (each for each in waiting if each.address == busiest),
        key=lambda each: each.gives_up_at or 0.0,
    )
    oldest.give_up()
