"""Serving the board: sockets on this machine or the studio network, in a thread of its own."""

import asyncio
import ipaddress
import socket
import threading
from collections.abc import Sequence
from functools import partial
from typing import Any, Final, NamedTuple

import uvicorn
from starlette.types import ASGIApp

from companion.base.errors import CompanionError
from companion.out.board.authority import PRIVATE, RENEW_SECONDS, Machine
from companion.out.board.connection import MOST_CONNECTIONS, REQUEST_SECONDS, Connection
from companion.out.board.line import MOST_BYTES

LOOPBACK: Final = "127.0.0.1"
STOP_SECONDS: Final = 3.0
_ELSEWHERE: Final = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): choosing a route to it sends nothing."""


def studio_address() -> str:
    """Return this machine's address on the studio network; CompanionError without one."""
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
    """Return an address of a home or studio network; CompanionError for any other."""
    try:
        parsed = ipaddress.IPv4Address(address)
    except ValueError:
        raise CompanionError(
            f"Expected an address such as 192.168.1.20, not {address!r:.60}."
        ) from None
    if not any(parsed in network for network in PRIVATE):
        raise CompanionError(
            f"Expected the address of a home or studio network, and {address} is not one. The "
            "board is not for the open internet."
        )
    return address


def listen(address: str, port: int) -> socket.socket:
    """Return a listening socket, any free one for port 0; CompanionError if there is none."""
    try:
        return socket.create_server((address, port))
    except OSError as error:
        raise CompanionError(
            f"The board cannot be served at {address}:{port}: {error.strerror}. Another board "
            "may run there; choose another port with --port, or end it."
        ) from None


def host_name() -> str:
    """Return this machine's name, in small letters and without its domain."""
    return socket.gethostname().lower().partition(".")[0]


class Port(NamedTuple):
    """One address that is served."""

    app: ASGIApp
    socket: socket.socket
    machine: Machine | None = None
    """TLS; None is plain."""

    @property
    def url(self) -> str:
        """Where it is reached."""
        scheme = "https" if self.machine else "http"
        address, port = self.socket.getsockname()[:2]
        return f"{scheme}://{address}:{port}/"


class BoardServer:
    """Serves ports until it is stopped; takes no signals and prints nothing.

    `request_seconds` are those within which a request, or the greeting of TLS, must be whole.
    """

    def __init__(self, ports: Sequence[Port], request_seconds: float = REQUEST_SECONDS) -> None:
        self._ports = tuple(ports)
        self._seconds = request_seconds
        self._servers = [uvicorn.Server(_config(port, request_seconds)) for port in ports]
        self._thread = threading.Thread(target=self._run, name="board", daemon=True)

    def start(self) -> None:
        """Serve from a thread of its own."""
        self._thread.start()

    def stop(self) -> None:
        """Let open lines end, and close the sockets."""
        for server in self._servers:
            server.should_exit = True
        if self._thread.is_alive():
            self._thread.join(STOP_SECONDS)
        for port in self._ports:
            port.socket.close()

    def _run(self) -> None:
        with asyncio.Runner(loop_factory=lambda: _loop(self._seconds)) as runner:
            runner.run(self._serve())

    async def _serve(self) -> None:
        renewals = [
            asyncio.create_task(_renew(port.machine)) for port in self._ports if port.machine
        ]
        served = zip(self._servers, self._ports, strict=True)
        await asyncio.gather(*(server.serve(sockets=[port.socket]) for server, port in served))
        for each in renewals:
            each.cancel()


async def _renew(machine: Machine) -> None:
    while True:
        await asyncio.sleep(RENEW_SECONDS)
        machine.renew()


def _loop(seconds: float) -> asyncio.AbstractEventLoop:
    """Return a loop in which the greeting of TLS has a time limit, which uvicorn does not set."""
    loop = asyncio.new_event_loop()
    create: Any = loop.create_server

    async def create_server(*given: Any, ssl: Any = None, **more: Any) -> Any:
        limit = {"ssl_handshake_timeout": seconds} if ssl else {}
        return await create(*given, ssl=ssl, **limit, **more)

    loop.create_server = create_server  # type: ignore[method-assign]
    return loop


def _config(port: Port, seconds: float) -> uvicorn.Config:
    machine = port.machine
    return uvicorn.Config(
        port.app,
        http=partial(Connection, seconds=seconds),  # type: ignore[arg-type]
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
        ssl_context_factory=(lambda _config, _usual: machine.context) if machine else None,
    )
