"""The command that has many looms in one process: studio."""

from __future__ import annotations

import queue
import sys
import threading
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from companion.base import files, home
from companion.base.errors import CompanionError
from companion.cli.network import (
    PORT,
    check_network,
    invite,
    needed_by,
    network_options,
    open_ports,
)
from companion.cli.options import FOLDER, TEXT, print_lines
from companion.cli.walking import usable_settings
from companion.devices.speech.make import make_clips
from companion.record import default_folder
from companion.session.interrupts import Interrupts
from companion.session.presenter import Console
from companion.session.setup import Wishes, opened_voice, presenter_of
from companion.settings import Settings

if TYPE_CHECKING:
    from companion.devices.speech.clips import Clips
    from companion.out.studio.studio import Studio

_MOST_FILES: Final = 65_536
"""Open files and connections wanted; fifty looms with two pages each take some 400."""
_FOLDER: Final = "studio"
_END: Final = "end"


@click.command()
@click.argument("folder", type=FOLDER, default=Path())
@network_options("devices")
@TEXT
@click.option(
    "--shared",
    default="",
    metavar="postgresql://...",
    help="A database in which several servers of one school have their sessions together.",
)
@click.option("--server", default="", help="With --shared: this server's name, if not its own.")
@click.option("--at-boot", is_flag=True, help="Write what starts it with this machine, and end.")
def studio(folder: Path, **options: Any) -> None:
    """Walk many looms at once, with the plans in FOLDER, this folder unless you name another.

    Each loom has a page of its own; the teacher's page begins walks, shows every loom, those in
    trouble first, and says what happens. Here, Enter tells how all looms stand, and "stop" or
    Ctrl-C ends; every walk then goes on when the studio is started again.

    The pages are for this machine alone unless --network is given.
    """
    check_network(options)
    if options["at_boot"]:
        _write_unit(folder, options)
        return
    shared = _shared(options)
    _raise_limit()
    told: queue.SimpleQueue[tuple[str, str]] = queue.SimpleQueue()
    settings = usable_settings()
    clips = _Clips(settings, told)
    looms = _studio(folder, settings, clips, told)
    with suppress(KeyboardInterrupt), Interrupts.of_signals() as interrupts:
        _serve(looms, {**options, "shared": shared}, told, settings, interrupts)
    clips.close()
    click.echo("Ended. Every walk goes on when the studio is started again.")


def _studio(
    folder: Path, settings: Settings, clips: _Clips, told: queue.SimpleQueue[tuple[str, str]]
) -> Studio:
    with needed_by("studio"):
        from companion.out.studio.studio import Studio  # noqa: PLC0415 - slow to load, optional
    return Studio(
        plans=folder.resolve(),
        home=home.data() / _FOLDER,
        journals=default_folder(),
        clips=clips.get,
        words_per_minute=settings.speech.words_per_minute,
        aloud=lambda line: told.put(("say", line)),
        tell=lambda line: told.put(("print", line)),
    )


def _serve(
    looms: Studio,
    options: dict[str, Any],
    told: queue.SimpleQueue[tuple[str, str]],
    settings: Settings,
    interrupts: Interrupts,
) -> None:
    """Serve the pages until the end, and end every walk in good order then."""
    from companion.out.board import pair_page, server  # noqa: PLC0415 - slow to load, optional
    from companion.out.board.reach import TEACHER  # noqa: PLC0415
    from companion.out.studio.teacher_pages import TeacherPages  # noqa: PLC0415

    pages = TeacherPages(looms)
    ports, pages.network = open_ports(pages.app(), options, "studio", TEACHER)
    if pages.network is not None and (offer := invite(pages.network)) is not None:
        click.echo(pair_page.told_code(offer))
        click.echo("The code for a device of one loom is on the teacher's page.")
    running = server.BoardServer(ports)
    running.start()
    try:
        if options["shared"]:
            url, secret = options["shared"]
            _share(looms, url, secret, options["server"])
        looms.take_up()
        _attend(looms, told, settings, interrupts, is_silent=options["text"])
    finally:
        looms.close()
        if looms.sharing is not None:
            looms.sharing.close()
        running.stop()


def _shared(options: dict[str, Any]) -> tuple[str, str | None] | None:
    """Return the address and the password of the school's database, where one is asked for."""
    if not options["shared"]:
        if options["server"]:
            raise CompanionError("Expected --shared with --server. Add it, or leave --server out.")
        return None
    from companion.record import school_door  # noqa: PLC0415 - optional

    return school_door.check_address(options["shared"]), school_door.password()


def _share(looms: Studio, url: str, secret: str | None, name: str) -> None:
    from companion.out.studio.sharing import Sharing  # noqa: PLC0415 - optional

    looms.sharing = Sharing(url, secret, looms, home.data() / _FOLDER, name)
    for each in looms.looms():
        looms.sharing.stands(each.key, each.standing)
    looms.sharing.start()
    click.echo(f"This server is {looms.sharing.server} in the school's record.")


def _attend(
    looms: Studio,
    told: queue.SimpleQueue[tuple[str, str]],
    settings: Settings,
    interrupts: Interrupts,
    *,
    is_silent: bool,
) -> None:
    """Print and say what the looms have to tell, and take the few commands there are here."""
    threading.Thread(target=_read_lines, args=(told,), name="lines", daemon=True).start()
    wishes = Wishes(is_silent=is_silent)
    with opened_voice(settings, wishes, partial(click.echo, err=True)) as voice:
        presenter = presenter_of(settings, voice, Console(sys.stdout))
        while True:
            with interrupts.waiting():
                kind, line = told.get()
            if kind == _END:
                return
            if kind == "print":
                click.echo(line)
            else:
                presenter.notice(looms.roll_call() if kind == "all" else line)


def _read_lines(told: queue.SimpleQueue[tuple[str, str]]) -> None:
    """Pass on what is typed; the end of the input ends nothing: at boot there is none."""
    with suppress(OSError, ValueError):
        for line in sys.stdin:
            match line.strip().lower():
                case "stop":
                    told.put((_END, ""))
                case "":
                    told.put(("all", ""))
                case _:
                    told.put(("print", "Enter tells how all looms stand; stop ends the studio."))


class _Clips:
    """The one maker of clips for all looms, made when the first is wanted."""

    def __init__(self, settings: Settings, told: queue.SimpleQueue[tuple[str, str]]) -> None:
        self._speech = settings.speech
        self._told = told
        self._lock = threading.Lock()
        self._made: Clips | None = None

    def get(self) -> Clips:
        with self._lock:
            if self._made is None:
                speech, tell = self._speech, lambda line: self._told.put(("print", line))
                self._made = make_clips(speech.engine, speech.voice, tell)
            return self._made

    def close(self) -> None:
        if self._made is not None:
            self._made.close()


def _raise_limit() -> None:
    """Allow as many connections as the system does; the usual limit is too low for a school."""
    with suppress(ImportError, ValueError, OSError):  # Windows has no such limit
        import resource  # noqa: PLC0415

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        most = _MOST_FILES if hard == resource.RLIM_INFINITY else min(hard, _MOST_FILES)
        if soft < most:
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


def _write_unit(folder: Path, options: dict[str, Any]) -> None:
    from companion.out.studio.boot import UNIT, told, unit, unit_folder  # noqa: PLC0415

    path = unit_folder() / UNIT
    given = ["--network"] if options["network"] else []
    given += ["--address", options["address"]] if options["address"] else []
    given += ["--port", str(options["port"])] if options["port"] != PORT else []
    given += ["--text"] if options["text"] else []
    given += [f"--shared={options['shared']}"] if options["shared"] else []
    given += [f"--server={options['server']}"] if options["server"] else []
    text = unit([sys.executable, "-m", "companion", "studio", str(folder.resolve()), *given])
    try:
        files.replace(path, text.encode(), mode=0o644)
    except OSError as error:
        raise CompanionError(f"{path} cannot be written: {error.strerror}.") from None
    print_lines(told(path))
