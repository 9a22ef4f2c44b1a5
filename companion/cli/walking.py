"""The commands that walk: thread, sley, resume."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import click

from companion.base.clean import clean_line
from companion.base.errors import CompanionError
from companion.base.text import LONGEST_LABEL
from companion.cli.options import (
    AUDIO_IN,
    AUDIO_OUT,
    LANGUAGE,
    PLAN,
    RATE,
    TEXT,
    all_of,
    begins_at,
    print_lines,
)
from companion.command.size import DETAILS, read_size
from companion.job import Stage, StageName, stage, stages
from companion.loom.compute import read_and_compute
from companion.loom.dressing import Dressing
from companion.loom.threading_order import why_separate
from companion.record import EntryKind, Journal, default_folder
from companion.session.inputs import InputSource
from companion.session.presenter import Presenter
from companion.session.replan import Replan
from companion.session.session_lookup import (
    Wanted,
    open_for_plan,
    session_path,
    stages_of,
    taken_as_done,
)
from companion.session.setup import Wishes, known, options_of, set_up
from companion.session.sitting import PlanAnswer, Sitting
from companion.settings import Settings, load_usable
from companion.wording import notices
from companion.wording.replanned import counted_as_done

_ANSWERS: Final[dict[bool | None, PlanAnswer]] = {None: "ask", True: "take", False: "keep"}
EARS = ("auto", "vosk", "taught", "untaught", "off")


def _size(_ctx: click.Context, _param: click.Parameter, typed: str | None) -> str | None:
    try:
        return None if typed is None else str(read_size(typed))
    except ValueError as error:
        raise click.BadParameter(f"{error}.") from None


def _name(_context: click.Context, _option: click.Parameter, typed: str) -> str:
    name = clean_line(typed)
    if len(name) > LONGEST_LABEL:
        raise click.BadParameter(f"expected at most {LONGEST_LABEL} letters, not {len(name)}.")
    return name


walk_options = all_of(
    TEXT,
    AUDIO_OUT,
    RATE,
    click.option(
        "--lines",
        is_flag=True,
        help="Type whole commands, each ended by Enter, instead of single keys.",
    ),
    AUDIO_IN,
    click.option("--ear", type=click.Choice(EARS), help="What listens for spoken commands."),
    LANGUAGE,
    click.option(
        "--step",
        callback=_size,
        metavar="SIZE",
        help="What one callout gives: 1 to 24 ends, a unit, a dent or a group.",
    ),
    click.option("--detail", type=click.Choice(DETAILS), help="What is told of each end."),
    click.option(
        "--take-plan/--keep-plan",
        "takes_plan",
        default=None,
        help="If the plan has changed: follow it the shorter way, or go on as it was. Else "
        "you are asked.",
    ),
    click.option(
        "--weaver", default="", callback=_name, help="Who is at the loom, for the record."
    ),
)
"""The options every walk takes."""
begin_options = all_of(
    click.option("--new", is_flag=True, help="Begin again from the first end."), walk_options
)
"""The options that a walk takes when it begins from a plan."""


@click.command()
@PLAN
@begins_at("END", "Begin at this end, on a loom that is threaded up to it.")
@click.option(
    "--together/--separate",
    default=None,
    help="Thread and sley each end in one step, or in two passes; the plan says which by itself.",
)
@begin_options
def thread(plan: Path, *, together: bool | None, **options: Any) -> None:
    """Walk the threading of PLAN, end by end.

    Where the plan says so, each end is threaded and sleyed in one step; otherwise the sleying
    follows as a pass of its own. A walk that was left unfinished goes on where it was.

    \b
    Words, keys and pedal:
      done         Enter, Space, d    this step is finished; say the one after
      back         b                  go back one step
      repeat       r                  say it again
      where am i   w                  end, group and how much is left
      count 24     24 then Enter      how many ends you count in the group
      read back    l                  hear the group again, end by end
      pause, resume, slower, faster, undo, mistake, help, stop

    \b
    Commands may come from a file or another program:
      printf 'done\\ndone\\nback\\n' | companion thread plans/first-try.toml
    """

    def passes(dressing: Dressing) -> tuple[StageName, ...]:
        if together is None:
            return stages(dressing)
        has_regions = bool(dressing.sley.regions)
        why = why_separate(dressing.thread_first, dressing.thread_from, has_regions=has_regions)
        if together and why:
            raise CompanionError(f"Expected --separate with this plan, since {why}.")
        return stages(replace(dressing, passes="together" if together else "separate"))

    walk_plan(plan, lambda dressing: Wanted(passes(dressing)), options)


@click.command()
@PLAN
@begin_options
def sley(plan: Path, **options: Any) -> None:
    """Walk the sleying of PLAN alone, dent by dent."""
    walk_plan(plan, lambda _dressing: Wanted(("sley",)), options)


@click.command()
@click.argument("session", required=False)
@walk_options
def resume(session: str | None, **options: Any) -> None:
    """Go on with SESSION, or with the one used last, where it was left.

    `companion sessions` lists them.
    """
    with Journal.open(session_path(session, click.echo)) as journal:
        wanted = Wanted(stages_of(journal), is_whole=True)
        sit(journal, wanted, usable_settings(), options)


def walk_plan(
    path: Path,
    wanted_of: Callable[[Dressing], Wanted],
    options: dict[str, Any],
    *,
    is_trial: bool = False,
) -> None:
    """Walk the stages that `wanted_of` gives for a plan, in its session or a new one."""
    plan, dressing = read_and_compute(path)
    wanted = wanted_of(dressing)
    is_new = options.pop("new")
    settings, from_end = usable_settings(), options.get("from_end") or 0
    if from_end:
        _check_end(from_end, stage(dressing, wanted.names[0]))
    folder = default_folder()
    with open_for_plan(
        plan, dressing, folder, wanted, is_new=is_new, tell=click.echo, is_trial=is_trial
    ) as journal:
        if from_end and journal.last_state(wanted.names[0]) is not None:
            raise CompanionError(
                f"{journal.id} is under way, so its place holds: expected a stage not yet begun "
                f"for {from_end} to begin at. Go on with companion resume, or add --new."
            )
        done, last = taken_as_done(journal, dressing, wanted), journal.last_entry()
        is_news = done and last is not None and last.kind is EntryKind.PLAN
        if wanted.is_whole:
            wanted = wanted._replace(names=stages_of(journal))
        told = [counted_as_done(done)] if is_news else []
        sit(journal, wanted, settings, options, told=told)


def _check_end(number: int, walked: Stage) -> None:
    """Raise CompanionError where no step of the stage has this number."""
    if walked.find(number) is None:
        raise CompanionError(
            f"Expected {walked.item} 1 to {walked.last_number} to begin at, not {number}. "
            f"Give the first {walked.item} that is still to be done."
        )


def usable_settings() -> Settings:
    """Return the settings, telling what of the file could not be used."""
    settings, faults = load_usable()
    print_lines(faults, err=True)
    return settings


def sit(
    journal: Journal,
    wanted: Wanted,
    settings: Settings,
    options: dict[str, Any],
    *,
    beside: Callable[[Sitting, Presenter], Sequence[InputSource]] | None = None,
    told: Sequence[str] = (),
) -> None:
    """Walk stages of a session with the setup the weaver asked for.

    Args:
        journal: open for writing.
        wanted: the stages to walk, in order.
        settings: as they are kept.
        options: from `walk_options`.
        beside: gives sources that take part beside its own, such as a board.
        told: lines to begin with.
    """
    replan = Replan(journal, wanted)
    journal.weaver = options["weaver"] or journal.weaver
    settings = settings.of(journal.weaver).but(
        recogniser=options["ear"],
        language=options["language"],
        words_per_minute=options["rate"],
        step=options["step"],
        detail=options["detail"],
    )
    wishes = Wishes(
        is_silent=options["text"],
        audio_out=options["audio_out"],
        has_lines=options["lines"],
        audio_in=options["audio_in"],
        weaver=journal.weaver,
        must_hear=bool(options["audio_in"] or options["ear"]),
    )
    guided = options_of(settings, known(journal))
    with set_up(settings, wishes) as (presenter, sources):
        sitting = Sitting(
            replan.stages(),
            journal,
            presenter,
            guided,
            break_seconds=60.0 * settings.walk.break_minutes,
            scan_seconds=settings.walk.scan_seconds,
            from_end=options.get("from_end") or 0,
            replan=replan,
            answer=_ANSWERS[options["takes_plan"]],
        )
        if journal.was_cut_off:
            presenter.notice(notices.CUT_OFF)
        for line in told:
            presenter.notice(line)
        more = beside(sitting, presenter) if beside else ()
        sitting.run([*sources, *more])
