"""The command that shows a walk on tablets: board."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.base import home
from companion.base.errors import CompanionError
from companion.base.text import counted
from companion.cli.network import check_network, invite, needed_by, network_options, open_ports
from companion.cli.options import FOLDER, file_of
from companion.cli.stages import woven
from companion.cli.walking import begin_options, sit, usable_settings
from companion.devices.speech.make import make_clips
from companion.job import stages
from companion.loom.compute import read_and_compute
from companion.out.board.reach import BOARD
from companion.out.board.reach import told as told_reach
from companion.out.board.tablets import TABLETS_FILE, Tablets
from companion.record import Journal, default_folder
from companion.session.inputs import InputSource
from companion.session.presenter import Presenter
from companion.session.session_lookup import Wanted, open_for_plan, session_path, stages_of

if TYPE_CHECKING:
    from companion.out.board.source import BoardSource
    from companion.session.sitting import Sitting


@click.command()
@click.argument("what", required=False, metavar="PLAN|SESSION")
@network_options("tablets")
@click.option("--weave", is_flag=True, help="Weave PLAN pick by pick, once it is dressed.")
@click.option(
    "--plans",
    type=FOLDER,
    default=Path(),
    help="The folder for plans made on the board; this one unless you name another.",
)
@begin_options
def board(what: str | None, *, weave: bool, **options: Any) -> None:
    """Walk PLAN, or go on with SESSION, and show it as a page for a tablet at the loom.

    Without either, the session used last goes on. Keys, pedal and voice work as in `thread`; a
    press on the board is one more of them, and every board shows the same step.

    The page is for this machine alone unless --network is given. Then a tablet on the studio
    network can open it too, once it has typed the code that is shown here.
    """
    settings = usable_settings()
    check_network(options)
    journal = _opened(what, is_new=options.pop("new"), is_woven=weave)
    heard = settings.but(recogniser=options["ear"], language=options["language"])

    def beside(sitting: Sitting, presenter: Presenter) -> tuple[InputSource, ...]:
        from companion.out.board.source import BoardSource  # noqa: PLC0415 - not on others' way

        shown = BoardSource(journal.title, lambda: sitting.walk, heard.hearing.language)
        _serve(shown, presenter, options)
        speech = heard.speech
        shown.join(
            presenter,
            heard,
            lambda: make_clips(speech.engine, speech.voice, shown.notice),
            has_room=not options["text"],
        )
        return (shown,)

    with journal:
        wanted = Wanted(stages_of(journal), is_whole=True)
        sit(journal, wanted, settings, options, beside=beside)


def _opened(what: str | None, *, is_new: bool, is_woven: bool) -> Journal:
    """Return the session to go on with: a plan's where a file is named, else one by its name."""
    if what is not None and (what.endswith((".toml", ".wif")) or Path(what).is_file()):
        plan, dressing = read_and_compute(file_of(Path(what), {}))
        wanted = woven(dressing) if is_woven else Wanted(stages(dressing))
        folder = default_folder()
        return open_for_plan(plan, dressing, folder, wanted, is_new=is_new, tell=click.echo)
    if is_new or is_woven:
        option = "--new" if is_new else "--weave"
        raise CompanionError(
            f"Expected a plan with {option}. Name its file, or leave {option} out."
        )
    return Journal.open(session_path(what, click.echo))


def _serve(shown: BoardSource, presenter: Presenter, options: dict[str, Any]) -> None:
    """Give the board its server, and tell where it is and, on a network, how to come in."""
    with needed_by("board"):
        from companion.out.board import app, server  # noqa: PLC0415 - slow to load, optional
    pages = app.make_app(shown, options["plans"].resolve())
    ports, served = open_ports(pages, options, "board", BOARD)
    if served is not None and (offer := invite(served)) is not None:
        from companion.out.board import pair_page  # noqa: PLC0415 - not on the way of others

        presenter.notice(pair_page.told_code(offer))
    shown.server = server.BoardServer(ports)


@click.command()
@click.option("--forget", metavar="NAME", help='Unpair this tablet; "all" unpairs every one.')
def tablets(forget: str | None) -> None:
    """List the tablets that have typed the code of a board on this machine.

    A tablet that is forgotten has to type a new code; it is shut out at once, also where a board
    is running.
    """
    paired = Tablets(home.data() / TABLETS_FILE)
    if forget is not None:
        number = paired.forget(None if forget == "all" else forget)
        if not number and forget != "all":
            names = ", ".join(each.name for each in paired.all())
            known = f"Expected the name of a paired tablet: {names}."
            raise CompanionError(known if names else "No tablet is paired.")
        click.echo(f"{counted(number, 'tablet')} unpaired.")
        return
    for each in paired.all():
        whose = f", {told}" if (told := told_reach(each.reach)) else ""
        since, until = _day(each.paired_at), _day(each.ends_at)
        click.echo(f"{each.name}{whose}: paired {since}, until {until}")
    if not paired.all():
        click.echo("No tablet is paired.")


def _day(seconds: float) -> str:
    return datetime.fromtimestamp(seconds).astimezone().strftime("%Y-%m-%d")
