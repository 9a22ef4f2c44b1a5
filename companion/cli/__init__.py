"""The `companion` command: plain lines in, plain lines out, one line for every mistake."""

import errno
import gc
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module

import click

from companion import __version__
from companion.base.errors import CompanionError

COMMANDS = {
    "At the loom": {
        "demo": ("demo.demo", "Try it out on a small warp of 40 ends."),
        "thread": ("walking.thread", "Walk the threading of PLAN, end by end."),
        "sley": ("walking.sley", "Walk the sleying of PLAN alone, dent by dent."),
        "walk": ("stages.walk", "Walk the whole job of PLAN, stage after stage."),
        "weave": ("stages.weave", "Weave PLAN, pick by pick."),
        "resume": ("walking.resume", "Go on with SESSION, or with the one used last."),
        "board": ("board.board", "Walk PLAN and show it as a page for a tablet."),
        "studio": ("studio.studio", "Walk many looms at once, with a page for each."),
        "tablets": ("board.tablets", "List the tablets that are paired, or unpair one."),
        "mend": ("mend.mend", "Tell what went wrong in a group of PLAN."),
    },
    "Plans": {
        "new": ("new.new", "Make a plan by answering questions."),
        "check": ("plans.check", "Print what PLAN comes to, or all that is wrong in it."),
        "wif": ("plans.wif", "Write the draft of PLAN to FILE in the open WIF format."),
        "yarn": ("yarn.yarn", "Yarn sizes and setts."),
        "print": ("paper.print_plan", "Write PLAN in large print, HTML, braille or sound."),
        "picture": ("picture.picture", "Draw PLAN, and say the same in words."),
    },
    "What was done": {
        "sessions": ("records.sessions", "List the sessions, the one used last first."),
        "log": ("records.log", "Print everything done in SESSION, oldest first."),
        "export": ("records.export", "Write the record of SESSION as CSV."),
        "handover": ("handover.handover", "Tell the next person where SESSION stands."),
        "carry": ("handover.carry", "Put SESSION into one file for another machine."),
        "bring": ("handover.bring_session", "Take in a session that was put into FILE."),
    },
    "Setting up": {
        "doctor": ("devices.doctor", "Say what works here, and how to mend the rest."),
        "settings": ("devices.settings", "Show every setting, or set KEY to VALUE."),
        "voices": ("voices.voices", "Hear each voice and choose, or find your own speed."),
        "pedal": ("devices.pedal", "Set up a foot pedal."),
        "teach": ("hearing.teach", "Record your own way of saying the commands."),
        "listen": ("hearing.listen", "Check the microphone: what is heard and refused."),
        "models": ("models.models", "Get the models that recognise speech."),
    },
}
"""Under each heading the commands: the module in this package, the function, and a line of help."""
_OUTPUT_FAULTS = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
_SPEAKING = frozenset(COMMANDS["At the loom"]) - {"mend", "tablets"} | {
    *("handover", "doctor", "voices", "teach", "listen")
}
"""Commands that speak by themselves; what the others print can be said too."""
FUNCTIONS = {name: what for part in COMMANDS.values() for name, (what, _) in part.items()}


def _no_command(name: str) -> str:
    from difflib import get_close_matches  # noqa: PLC0415 - only wanted after a slip

    near = get_close_matches(name[:20], FUNCTIONS, n=1)
    meant = f"Did you mean {near[0]}? " if near else ""
    return f'There is no command "{name:.40}". {meant}They are listed by: companion --help'


class _InterruptedError(CompanionError):
    exit_code = 130


@contextmanager
def _in_one_line(ctx: click.Context) -> Iterator[None]:
    """Tell in one plain line what click would tell in four, or in the word "Aborted!"."""
    try:
        yield
    except KeyboardInterrupt:
        raise _InterruptedError("Interrupted. What was finished is kept, nothing else.") from None
    except click.exceptions.NoArgsIsHelpError:
        raise
    except click.UsageError as error:
        # Of an option that lacks its value click does not say which command's it is.
        named = f"companion {ctx.invoked_subcommand or ''}".rstrip()
        command = error.ctx.command_path if error.ctx else named
        message = error.format_message()
        stop = "" if message.endswith((".", "?")) else "."
        raise CompanionError(f"{message}{stop} How it is written: {command} --help") from None


class Commands(click.Group):
    """Loads a command when it is wanted, and lists them in the order a weaver meets them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the names in the order of the table."""
        return list(FUNCTIONS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Load a command."""
        if cmd_name not in FUNCTIONS:
            raise CompanionError(_no_command(cmd_name))
        from companion.cli import libraries  # noqa: PLC0415 - help must not wait for it

        module, _, function = FUNCTIONS[cmd_name].partition(".")
        gc.disable()  # what is loaded stays; looking through it for waste would take a while
        libraries.load()
        command: click.Command = getattr(import_module(f"companion.cli.{module}"), function)
        if cmd_name not in _SPEAKING:
            from companion.cli import aloud  # noqa: PLC0415 - a walk must not wait for it

            aloud.add_to(command)
        gc.freeze()
        gc.enable()
        return command

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the options before the command."""
        with _in_one_line(ctx):
            return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command."""
        with _in_one_line(ctx):
            return super().invoke(ctx)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the commands with their lines of help, and load none of them."""
        widest = max(map(len, FUNCTIONS))
        for heading, part in COMMANDS.items():
            with formatter.section(heading):
                formatter.write_dl([(f"{name:{widest}}", told) for name, (_, told) in part.items()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="companion %(version)s")
def group() -> None:
    """Dress a floor loom by ear.

    The companion reads a plan, works out every end, heddle and dent, then reads one step at a
    time aloud and waits for you: say or press "done", and it goes on. It asks for a count at
    every group, and keeps your place if anything goes wrong.

    \b
    First try:       companion demo
    See a plan:      companion check PLAN
    Go on later:     companion resume
    Is all working?  companion doctor
    """
    from companion.base import fault_log  # noqa: PLC0415 - help must not wait for it

    fault_log.begin()


def main() -> None:
    """Run the command; every expected mistake is one clear report and exit code 2."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a title may hold letters that a terminal has not
    # Closed by whoever began it: nothing comes, or nobody reads.
    sys.stdin, sys.stdout = sys.stdin or io.StringIO(), sys.stdout or io.StringIO()
    try:
        group(prog_name="companion")
    except CompanionError as error:
        _tell(str(error))
        sys.exit(error.exit_code)
    except BrokenPipeError:
        _drop_output()  # its reader went away; there is nobody left to tell
        sys.exit(0)
    except Exception as error:  # noqa: BLE001 - the last resort: keep the details, spare the weaver
        if isinstance(error, OSError) and error.errno in _OUTPUT_FAULTS and not error.filename:
            _drop_output()
            _tell(f"The output cannot be written: {error.strerror}.")
            sys.exit(CompanionError.exit_code)
        _tell(_unexpected(error))
        sys.exit(70)


def _tell(text: str) -> None:
    from companion.base.clean import clean_text  # noqa: PLC0415 - help must not wait for it

    click.echo(clean_text(text), err=True)


def _drop_output() -> None:
    """Write to nowhere from now on, so that the end of Python does not trip over what is left."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unexpected(error: Exception) -> str:
    """Write the details to a file and return what to tell the weaver."""
    from companion.base import fault_log  # noqa: PLC0415 - help must not wait for it

    return f"{fault_log.told(error)} Every step you confirmed is kept: companion resume."
