"""The ports that are served: on this machine, and on the studio's network.

There a plain page, not encrypted, tells how a tablet comes to trust this studio.
"""

import socket
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import Final, NamedTuple

from starlette.applications import Starlette
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from companion.out.board.assets import STYLE, assets, read_page
from companion.out.board.authority import LOCAL, Authority, Machine, kept_authority
from companion.out.board.guard import Guard
from companion.out.board.pairing import Pairing
from companion.out.board.reach import BOARD
from companion.out.board.server import LOOPBACK, Port, host_name, listen
from companion.out.board.tablets import TABLETS_FILE, Tablets

_FOLDER: Final = "studio"


class Network(NamedTuple):
    """The studio's network, as it is served."""

    url: str
    """Where tablets find the board."""
    trust_url: str
    """Where they are told how to trust it."""
    fingerprint: str
    pairing: Pairing


def here(app: ASGIApp, port: int) -> Port:
    """Return the port for this machine alone, which needs neither code nor encryption."""
    own = listen(LOOPBACK, port)
    return Port(Guard(app, _hosts(own, (LOOPBACK, "localhost")), Pairing(None)), own)


def network(
    app: ASGIApp, address: str, port: int, folder: Path, reach: str = BOARD
) -> tuple[Network, tuple[Port, Port]]:
    """Return the ports for the studio's network: a plain page on trust, and all the rest by TLS.

    The plain page has the port, 0 for any two, the board the one after. The folder is the
    companion's own; `reach` is of the codes for whoever opens the page for pairing. Raises
    CompanionError where a port is taken, or what is kept cannot be used.
    """
    host = host_name()
    authority = kept_authority(folder / _FOLDER, host)
    names = (address, f"{host}.{LOCAL}", host)
    pairing = Pairing(Tablets(folder / TABLETS_FILE), reach=reach)
    plain = listen(address, port)
    try:
        safe = listen(address, port and port + 1)
    except BaseException:
        plain.close()
        raise
    guard = Guard(app, _hosts(safe, names), pairing, "https")
    board = Port(guard, safe, Machine(authority, names, folder / _FOLDER))
    trust = make_trust_app(authority, board.url)
    trust_port = Port(Guard(trust, _hosts(plain, names), Pairing(None)), plain)
    served = Network(board.url, trust_port.url, authority.fingerprint, pairing)
    return served, (trust_port, board)


def told(served: Network) -> Iterator[str]:
    """Yield what is printed about the network."""
    yield f"For tablets it is at {served.url}"
    yield f"A tablet must trust the studio first; how: {served.trust_url}"
    yield f"The fingerprint to compare there: {served.fingerprint}"


def _hosts(own: socket.socket, names: tuple[str, ...]) -> frozenset[str]:
    port = own.getsockname()[1]
    return frozenset(f"{name}:{port}" for name in names)


def make_trust_app(authority: Authority, url: str) -> ASGIApp:
    """Return the page with the authority's certificate, and the way to the board at a URL."""
    page = (
        read_page("trust.html")
        .replace("{fingerprint}", escape(authority.fingerprint))
        .replace("{url}", escape(url))
    )

    name = {"Content-Disposition": 'attachment; filename="weaving-studio.crt"'}
    file = Response(authority.der, media_type="application/x-x509-ca-cert", headers=name)
    own = {"/": HTMLResponse(page), "/weaving-studio.crt": file}
    style = [route for route in assets() if route.path in STYLE]
    return Starlette(
        routes=[*(Route(path, answer, methods=["GET"]) for path, answer in own.items()), *style]
    )
