"""The commands for the next person and the next machine: handover, carry, bring."""

from contextlib import nullcontext
from pathlib import Path

import click

from companion.base.errors import JournalError
from companion.base.local_time import local
from companion.base.text import counted
from companion.cli.aloud import spoken_too
from companion.cli.options import AUDIO_OUT, PATH, RATE, print_lines
from companion.cli.records import SESSION
from companion.out.handover.record import hand_over_of
from companion.out.handover.words import hand_over, how_to_go_on
from companion.record import Entry, Journal, default_folder
from companion.record.carry import Arrival, Brought, Parting, bring, pack
from companion.session.session_lookup import check, finished, session_path, stages_of
from companion.wording.stages import recorded_title


@click.command()
@SESSION
@click.option("--aloud", is_flag=True, help="Say it as well as printing it.")
@AUDIO_OUT
@RATE
def handover(session: str | None, *, aloud: bool, audio_out: Path | None, rate: int | None) -> None:
    """Tell the next person at the loom where SESSION, or the one used last, stands.

    What is planned and how far it is, the last confirmed step and how to find it by touch, what
    is in doubt, who did what, and the time left at the pace so far. It changes nothing.
    """
    with Journal.open(session_path(session, click.echo), read_only=True) as journal:
        lines = tuple(hand_over(hand_over_of(journal)))
        how = _how_to_go_on(journal)
    with spoken_too(audio_out, rate) if aloud or audio_out else nullcontext():
        print_lines(lines)
    print_lines(how)


@click.command()
@SESSION
@click.option(
    "--to",
    type=PATH,
    default=Path(),
    metavar="FOLDER|FILE",
    help="Where to put the file, a USB stick for example; this folder unless you say otherwise.",
)
def carry(session: str | None, to: Path) -> None:
    """Put SESSION, or the one used last, into one file to carry to another machine.

    There, `companion bring FILE` takes it in. Carry it back the same way: whichever machine is
    behind moves on, and nothing is mixed. A file that holds an earlier state of the same session
    is replaced.

    \b
    companion carry first-try-1 --to /media/stick
    """
    packed = pack(session_path(session, click.echo), to)
    manifest = packed.manifest
    click.echo(
        f"Wrote {packed.path}: {manifest.session} with {counted(manifest.entries, 'entry')}."
    )
    if packed.is_walked:
        click.echo("The session is being walked right now: what is done after this is not in it.")
    click.echo(f"On the other machine: companion bring {packed.path.name}")


@click.command(name="bring")
@click.argument("file", type=PATH)
@click.option(
    "--keep-both",
    is_flag=True,
    help="Where both machines went on separately, add the brought session beside the one here.",
)
def bring_session(file: Path, *, keep_both: bool) -> None:
    """Take in the session that `companion carry` put into FILE.

    A session that is not here is added; one that was gone on with elsewhere moves on. Where it
    was gone on with on both machines nothing is changed, and you hear where they part.
    """
    brought = bring(file, default_folder(), keep_both=keep_both, check=check)
    if brought.parting is not None:
        raise JournalError(_parted(brought, brought.parting))
    click.echo(_told(brought))
    if brought.outcome is not Arrival.NOTHING_NEW:
        path = session_path(brought.session, click.echo)
        with Journal.open(path, read_only=True) as journal:
            print_lines(_how_to_go_on(journal))


def _how_to_go_on(journal: Journal) -> tuple[str, ...]:
    """Return the line that tells it; none where all is finished."""
    is_left = not finished(journal).issuperset(stages_of(journal))
    return (how_to_go_on(journal.id),) if is_left else ()


def _told(brought: Brought) -> str:
    name, new = brought.session, counted(brought.added, "entry")
    packed = f"packed on {brought.manifest.machine} at {local(brought.manifest.carried)}"
    match brought.outcome:
        case Arrival.ADDED:
            return f"Added {name} with {new}, {packed}."
        case Arrival.MOVED_ON:
            return f"{name} moved on by {new}, {packed}."
        case Arrival.KEPT_BOTH:
            return f"Kept both: the brought session is {name}, with {new}, {packed}."
        case _:
            ahead = f"; it has {counted(brought.ahead, 'entry')} more" if brought.ahead else ""
            return f"Nothing new: {name} holds all of it already{ahead}."


def _parted(brought: Brought, part: Parting) -> str:
    where = brought.manifest.machine
    return (
        f"{brought.session} was gone on with on both machines, so nothing was changed. They part "
        f"at entry {part.number}: here{_by(part.here)} and now at {_step(part.here_last)}; on "
        f"{where}{_by(part.brought)} and now at {_step(part.brought_last)}. Go on with one of "
        "them; to have the other here too, under a name of its own, add --keep-both."
    )


def _by(entry: Entry) -> str:
    by = f" by {entry.weaver}" if entry.weaver else ""
    return f"{by} at {local(entry.at)}"


def _step(entry: Entry) -> str:
    return f"{recorded_title(entry.stage)}, step {entry.position}"
