"""The commands about what was done: sessions, log, export."""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path

import click

from companion.base.files import write_new
from companion.guide import events
from companion.record import EntryKind, Journal, Summary, default_folder, export_csv, find
from companion.record import sessions as list_sessions
from companion.wording.record import recorded

SESSION = click.argument("session", required=False)


@click.command()
def sessions() -> None:
    """List the sessions, the one used last first."""
    found = list_sessions(default_folder())
    if not found:
        click.echo("No sessions yet. Begin one: companion thread PLAN")
    for summary in found:
        click.echo(_line(summary))


def _line(summary: Summary) -> str:
    if summary.fault:
        return f"{summary.id}: {summary.fault}"
    state = "finished" if summary.is_finished else f"step {summary.position} of {summary.total}"
    day, time = summary.last_used[:10], summary.last_used[11:16]
    stage = f"{summary.stage}, " if summary.stage else ""
    return f"{summary.id}: {summary.title}, {stage}{state}, last used {day} {time} UTC"


@click.command()
@SESSION
def log(session: str | None) -> None:
    """Print everything done in SESSION, or in the one used last, oldest first."""
    with Journal.open(find(default_folder(), session), read_only=True) as journal:
        click.echo(f"{journal.id}: {journal.title}, from {journal.plan_path}")
        for entry in journal.entries():
            weaver = f" by {entry.weaver}" if entry.weaver else ""
            words = f' "{entry.words}"' if entry.words else ""
            kind = "" if entry.kind is EntryKind.COMMAND else f" {entry.kind}"
            click.echo(
                f"{entry.at[:19].replace('T', ' ')} {entry.stage}, step {entry.position} of "
                f"{entry.total}:{kind}{words}, {entry.source}{weaver}"
            )
            for told in filter(None, map(recorded, events.from_json(entry.events))):
                click.echo(f"    {told}")


@click.command()
@SESSION
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.csv",
    help="Write to a file; without it, to standard output.",
)
def export(session: str | None, to: Path | None) -> None:
    """Write the record of SESSION, or of the one used last, as CSV."""
    with Journal.open(find(default_folder(), session), read_only=True) as journal:
        if to is None:
            export_csv(journal, sys.stdout)
            return
        written = StringIO(newline="")
        export_csv(journal, written)
        write_new(to, written.getvalue())
        click.echo(f"Wrote {to}.")
