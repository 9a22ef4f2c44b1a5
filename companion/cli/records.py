"""The commands about what was done: sessions, log, export."""

import sys
from functools import partial
from io import StringIO
from pathlib import Path
from typing import Final

import click

from companion import record
from companion.base.files import write_new
from companion.base.local_time import local
from companion.base.text import counted
from companion.cli.options import FILE, print_lines
from companion.out.log import log_lines
from companion.record import Journal, Summary, default_folder, find
from companion.record.export import export_csv
from companion.session.session_lookup import fault_of, session_path
from companion.wording.stages import recorded_title

SESSION = click.argument("session", required=False)
TELL_BESIDE: Final = partial(click.echo, err=True)
"""Tells what is no part of a record that is printed."""


@click.command()
@click.option("--put-away", "away", metavar="SESSION", help="Take a session off the list.")
@click.option("--take-out", "out", metavar="SESSION", help="Put it back on the list.")
@click.option("--rescue", metavar="SESSION", help="Save what is sound of a damaged session.")
def sessions(away: str | None, out: str | None, rescue: str | None) -> None:
    """List the sessions, the one used last first.

    One that is not wanted any more can be put away. Nothing of it is lost: it can be taken out
    again, and to delete it for good, delete its file.

    \b
    companion sessions --put-away first-try-1
    """
    folder = default_folder()
    if away:
        put = record.put_away(find(folder, away))
        click.echo(f"{put.stem} is put away. Back again: companion sessions --take-out {put.stem}")
        click.echo(f"To delete it for good, delete {put}")
    if out:
        taken = record.take_out(find(folder / record.AWAY, out))
        click.echo(f"{taken.stem} is on the list again.")
    if rescue:
        _rescue(find(folder, rescue))
    if not (away or out or rescue):
        _list(folder)


def _list(folder: Path) -> None:
    found = record.sessions(folder)
    if not found:
        click.echo("No sessions yet. Begin one: companion thread PLAN")
    print_lines(map(_line, map(record.read_whole, found)))
    names = [summary.id for summary in record.sessions(folder / record.AWAY)]
    if names:
        click.echo(
            f"Put away: {', '.join(names)}. "
            f"To have one back: companion sessions --take-out {names[0]}"
        )


def _rescue(path: Path) -> None:
    saved = record.rescue(path)
    click.echo(
        f"Saved {counted(saved.entries, 'entry')}, the last of {local(saved.last_at)}, as "
        f"{saved.session}; {path.stem} is put away. Check your place at the loom."
    )
    click.echo(f"To go on: companion resume {saved.session}")


def _line(summary: Summary) -> str:
    fault = fault_of(summary)
    if fault:
        return fault
    state = "finished" if summary.is_finished else f"step {summary.position} of {summary.total}"
    stage = f"{recorded_title(summary.stage)}, " if summary.stage else ""
    return f"{summary.id}: {summary.title}, {stage}{state}, last used {local(summary.last_used)}"


@click.command()
@SESSION
def log(session: str | None) -> None:
    """Print everything done in SESSION, or in the one used last, oldest first."""
    with Journal.open(session_path(session, TELL_BESIDE), read_only=True) as journal:
        click.echo(f"{journal.id}: {journal.title}, from {journal.plan_path}")
        for entry in journal.entries():
            print_lines(log_lines(entry))


@click.command()
@SESSION
@click.option(
    "--to", type=FILE, metavar="FILE.csv", help="Write to a file; without it, to standard output."
)
def export(session: str | None, to: Path | None) -> None:
    """Write the record of SESSION, or of the one used last, as CSV."""
    with Journal.open(session_path(session, TELL_BESIDE), read_only=True) as journal:
        if to is None:
            export_csv(journal, sys.stdout)
            return
        written = StringIO(newline="")
        export_csv(journal, written)
        write_new(to, written.getvalue())
        click.echo(f"Wrote {to}.")
