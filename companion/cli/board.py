"""The command that shows a walk on tablets: board."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli.walking import walk_options
from companion.dressing.compute import compute, read_and_compute
from companion.errors import CompanionError
from companion.journal import Journal, default_folder, find
from companion.sequence import stage, stages
from companion.session.desk import Wishes, desk, options_of
from companion.session.opening import change_notice, open_for_plan, plan_of
from companion.session.sitting import Sitting
from companion.settings import load_usable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.board.source import BoardSource
    from companion.dressing.dressing import Dressing
    from companion.sequence import StageName
    from companion.session.mouth import Mouth
    from companion.settings import Settings

_PORT = 8424


@click.command()
@click.argument("what", required=False, metavar="PLAN|SESSION")
@click.option("--network", is_flag=True, help="Serve tablets on the studio network too, by a code.")
@click.option("--address", default="", help="With --network: this machine's address there.")
@click.option("--port", type=click.IntRange(0, 65535), default=_PORT, show_default=True)
@click.option(
    "--plans",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    default=Path(),
    help="The folder for plans made on the board; this one unless you name another.",
)
@walk_options
def board(what: str | None, **options: Any) -> None:
    """Walk PLAN, or go on with SESSION, and show it as a page for a tablet at the loom.

    Without either, the session used last goes on. Keys, pedal and voice work as in `thread`; a
    press on the board is one more of them, and every board shows the same step.

    The page is for this machine alone unless --network is given. Then a tablet on the studio
    network can open it too, once it has typed the code that is shown here.
    """
    settings, faults = load_usable()
    for fault in faults:
        click.echo(fault, err=True)
    journal, dressing = _opened(what, settings)
    with journal:
        journal.weaver = options["weaver"] or journal.weaver
        _sit(journal, dressing, settings, options)


def _opened(what: str | None, settings: Settings) -> tuple[Journal, Dressing]:
    """Return the session to go on with: a plan's where a file is named, else one by its name."""
    if what is not None and (what.endswith(".toml") or Path(what).is_file()):
        plan, dressing = read_and_compute(Path(what))
        names: Sequence[StageName] = stages(dressing)
        chunk = settings.walk.chunk
        return open_for_plan(plan, default_folder(), names, chunk=chunk, is_new=False), dressing
    journal = Journal.open(find(default_folder(), what))
    try:
        dressing = compute(plan_of(journal))
    except CompanionError:
        journal.close()
        raise
    notice = change_notice(journal)
    if notice:
        click.echo(notice)
    return journal, dressing


def _sit(journal: Journal, dressing: Dressing, settings: Settings, options: dict[str, Any]) -> None:
    """Walk the session with the board beside the desk's own sources."""
    from companion.board.source import BoardSource  # noqa: PLC0415 - with its web server, slow

    names: list[StageName] = journal.options["stages"]
    walked = [stage(dressing, name, journal.options["chunk"]) for name in names]
    wishes = Wishes(options["text"], options["audio_out"], options["rate"], options["lines"])
    with desk(settings, wishes) as ready:
        sitting = Sitting(
            walked,
            journal,
            ready.mouth,
            options_of(settings),
            settings.hearing.language,
            break_seconds=60.0 * settings.walk.break_minutes,
        )
        shown = BoardSource(journal.title, lambda: sitting.walk, settings.hearing.language)
        _serve(shown, ready.mouth, options)
        ready.mouth.listen(shown.hear)
        sitting.run([*ready.sources, shown])


def _serve(shown: BoardSource, mouth: Mouth, options: dict[str, Any]) -> None:
    """Give the board its server, and tell where it is."""
    from companion.board import pairing, server  # noqa: PLC0415 - slow, as above
    from companion.board.app import make_app  # noqa: PLC0415 - slow, as above

    if options["address"] and not options["network"]:
        raise CompanionError("Expected --network with --address. Add it, or leave --address out.")
    addresses = [server.LOOPBACK]
    code = None
    secret = b""
    if options["network"]:
        addresses.append(server.check_private(options["address"] or server.studio_address()))
        secret = pairing.kept_secret(default_folder().parent / "board-secret")
        code = pairing.new_code()
    sockets = server.listen(addresses, options["port"])
    hosts = server.names_of(sockets)
    app = make_app(shown, pairing.Pairing(code, secret), hosts, options["plans"].resolve())
    shown.server = server.BoardServer(app, sockets)
    port = sockets[0].getsockname()[1]
    click.echo(f"The board is at http://{addresses[-1]}:{port}/")
    if code:
        mouth.notice(f"To pair a tablet, type there: {code[:3]} {code[3:]}")
