"""What the commands that serve pages share: their options, the ports, and how devices come in."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from companion.base import home
from companion.base.errors import CompanionError
from companion.cli.options import Number, all_of, print_lines

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from companion.out.board.pairing import Offer
    from companion.out.board.server import Port
    from companion.out.board.serving import Network

PORT = 8424


def network_options(whom: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return what adds the options of where pages are served, for tablets or other devices."""
    return all_of(
        click.option(
            "--network", is_flag=True, help=f"Serve {whom} on the studio network too, by a code."
        ),
        click.option("--address", default="", help="With --network: this machine's address there."),
        click.option(
            "--port",
            type=Number(0, 65535),
            default=PORT,
            show_default=True,
            help="Where to serve; 0 takes any free port.",
        ),
    )


@contextmanager
def needed_by(command: str) -> Iterator[None]:
    """Tell in one line what a command needs that is not installed."""
    try:
        yield
    except ModuleNotFoundError as error:
        raise CompanionError(
            f"The {command} needs {error.name}, and it is not installed. Run: sh setup.sh"
        ) from None


def check_network(options: dict[str, Any]) -> None:
    """Refuse an address on a network that is not asked for.

    Raises:
        CompanionError: there is one.
    """
    if options["address"] and not options["network"]:
        raise CompanionError("Expected --network with --address. Add it, or leave --address out.")


def open_ports(
    app: ASGIApp, options: dict[str, Any], place: str, reach: str
) -> tuple[list[Port], Network | None]:
    """Return the ports wanted, and the network where it is served too; print where the place is.

    Args:
        app: what is served.
        options: those of `network_options`.
        place: what it is called, "board".
        reach: of the codes for whoever opens the page for pairing.

    Raises:
        CompanionError: a port is taken, or the address is not one of a network of one's own.
    """
    from companion.out.board import server, serving  # noqa: PLC0415 - slow to load, optional

    address = ""
    if options["network"]:
        address = server.check_private(options["address"] or server.studio_address())
    ports = [serving.here(app, options["port"])]
    click.echo(f"The {place} is at {ports[0].url}")
    if not address:
        return ports, None
    port = ports[0].socket.getsockname()[1] if options["port"] else 0
    served, more = serving.network(app, address, port, home.data(), reach)
    return [*ports, *more], served


def invite(served: Network) -> Offer | None:
    """Print where devices come in, and the first code by QR in a terminal; return its offer."""
    from companion.out.board import qr, serving  # noqa: PLC0415 - not on the way of others

    print_lines(serving.told(served))
    offer = served.pairing.offer()
    if offer is not None and sys.stdout.isatty():
        rows = shutil.get_terminal_size()[1]
        print_lines(qr.terminal_lines(f"{served.url}#{offer.token}", rows))
    return offer
