"""Serving the board: sockets on this machine or the studio network, in a thread of its own."""

from __future__ import annotations

import ipaddress
import socket
import threading
from functools import partial
from typing import TYPE_CHECKING, Final

import uvicorn

from companion.base.errors import CompanionError
from companion.out.board.connection import MOST_CONNECTIONS, REQUEST_SECONDS, Connection
from companion.out.board.line import MOST_BYTES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.types import ASGIApp

LOOPBACK: Final = "127.0.0.1"
STOP_SECONDS: Final = 3.0
_ELSEWHERE: Final = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): choosing a route to it sends nothing."""


def studio_address() -> str:
    """Return this machine's address on the studio network.

    Raises:
        CompanionError: there is no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_ELSEWHERE)
        except OSError:
            raise CompanionError(
                "Expected a network, and this machine is on none. Join the studio's, name its "
                "address with --address, or leave --network out."
            ) from None
        return str(probe.getsockname()[0])


def check_private(address: str) -> str:
    """Return the address where it is one of a home or studio network.

    Raises:
        CompanionError: it is no address, or one that the whole world can reach.
    """
    try:
        parsed = ipaddress.IPv4Address(address)
    except ValueError:
        raise CompanionError(
            f"Expected an address such as 192.168.1.20, not {address!r:.60}."
        ) from None
    if not parsed.is_private or parsed.is_unspecified:
        raise CompanionError(
            f"Expected the address of a home or studio network, and {address} is not one. The "
            "board is not for the open internet."
        )
    return address


def listen(addresses: Sequence[str], port: int) -> list[socket.socket]:
    """Return a listening socket for each address, all on one port; port 0 takes any free one.

    Raises:
        CompanionError: the port is taken or an address is not this machine's.
    """
    sockets: list[socket.socket] = []
    for address in dict.fromkeys(addresses):
        try:
            sockets.append(socket.create_server((address, port)))
        except OSError as error:
            for each in sockets:
                each.close()
            raise CompanionError(
                f"The board cannot be served at {address}:{port}: {error.strerror}. Another board "
                "may run there; choose another port with --port, or end it."
            ) from None
        port = sockets[0].getsockname()[1]
    return sockets


def names_of(sockets: Sequence[socket.socket]) -> frozenset[str]:
    """Return the Host headers by which these sockets are reached."""
    port = sockets[0].getsockname()[1]
    addresses = {each.getsockname()[0] for each in sockets}
    names = {"localhost"} if LOOPBACK in addresses else set()
    if addresses - {LOOPBACK}:
        own = socket.gethostname().lower()
        names |= {own, f"{own}.local"}
    return frozenset(f"{name}:{port}" for name in addresses | names)


class BoardServer:
    """Runs the application until it is stopped; takes no signals and prints nothing.

    Args:
        app: the guarded application.
        sockets: from `listen`; closed at the end.
        request_seconds: within which a request must have come whole.
    """

    def __init__(
        self,
        app: ASGIApp,
        sockets: Sequence[socket.socket],
        request_seconds: float = REQUEST_SECONDS,
    ) -> None:
        self._sockets = list(sockets)
        self._server = uvicorn.Server(
            uvicorn.Config(
                app,
                http=partial(Connection, seconds=request_seconds),  # type: ignore[arg-type]
                ws="websockets-sansio",
                ws_max_size=MOST_BYTES,
                ws_per_message_deflate=False,
                lifespan="off",
                log_config=None,
                log_level="critical",
                access_log=False,
                server_header=False,
                limit_concurrency=MOST_CONNECTIONS,
                timeout_graceful_shutdown=1,
            )
        )
        self._thread = threading.Thread(target=self._run, name="board", daemon=True)

    def start(self) -> None:
        """Serve from a thread of its own."""
        self._thread.start()

    def stop(self) -> None:
        """Let open streams end, and close the sockets."""
        self._server.should_exit = True
        if self._thread.is_alive():
            self._thread.join(STOP_SECONDS)
        for each in self._sockets:
            each.close()

    def _run(self) -> None:
        self._server.run(sockets=self._sockets)
