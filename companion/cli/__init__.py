"""The `companion` command: plain lines in, plain lines out, one line for every mistake."""

from __future__ import annotations

import os
import sys
import traceback

import click

from companion import __version__
from companion.base.errors import CompanionError
from companion.cli import (
    board,
    devices,
    handover,
    hearing,
    mend,
    models,
    new,
    paper,
    plans,
    records,
    stages,
    walking,
    yarn,
)
from companion.record import default_folder

COMMANDS = (
    walking.thread,
    walking.sley,
    stages.walk,
    walking.resume,
    board.board,
    board.tablets,
    new.new,
    plans.check,
    mend.mend,
    plans.wif,
    yarn.yarn,
    paper.print_plan,
    paper.picture,
    records.sessions,
    records.log,
    records.export,
    handover.handover,
    handover.carry,
    handover.bring_session,
    devices.pedal,
    devices.settings,
    hearing.teach,
    hearing.listen,
    models.models,
    devices.doctor,
)


class InOrder(click.Group):
    """Lists the commands in the order a weaver meets them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the names as they were added."""
        return list(self.commands)


@click.group(cls=InOrder, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="companion %(version)s")
def group() -> None:
    """Dress a floor loom by ear.

    The companion reads a plan, works out every end, heddle and dent, then reads one step at a
    time aloud and waits for you: say or press "done", and it goes on. It asks for a count at
    every group, and keeps your place if anything goes wrong.

    \b
    First try:       companion thread plans/first-try.toml
    See a plan:      companion check plans/first-try.toml
    Go on later:     companion resume
    Is all working?  companion doctor
    """


for command in COMMANDS:
    group.add_command(command)


def main() -> None:
    """Run the command; every expected mistake is one clear report and exit code 2."""
    try:
        group(prog_name="companion")
    except CompanionError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        # The reader of our output went away; there is nobody left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:  # noqa: BLE001 - the last resort: keep the details, spare the weaver
        click.echo(_unexpected(error), err=True)
        sys.exit(70)


def _unexpected(error: Exception) -> str:
    """Write the details to a file and return what to tell the weaver."""
    path = default_folder().parent / "last-fault.txt"
    told = f"Something went wrong inside the companion ({type(error).__name__}: {error})."
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return f"{told} Every step you confirmed is kept: companion resume."
    return f"{told} Every step you confirmed is kept: companion resume. The details are in {path}."
