"""What there is to hand over, and by whom, from stages, states and the record's moments."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from operator import itemgetter
from typing import Literal, NamedTuple

from companion.base.value import Value
from companion.command import Kind
from companion.guide import Message, Mode, Options, Overridden, State, start, welcome_back
from companion.guide.effects import messages_in
from companion.guide.place import is_at_boundary
from companion.job import Stage, Step
from companion.out.handover.pace import (
    Forecast,
    Moment,
    PastSitting,
    an_hour,
    forecast,
    step_seconds,
    work,
)
from companion.wording.stages import title


class Contribution(NamedTuple):
    """What one person did of a stage."""

    weaver: str
    """"" where nobody was named."""
    runs: tuple[tuple[int, int], ...]
    """First and last number of each run of what the weaver calls by number in this stage."""
    edges: int
    """Floating selvedges, which have no number."""
    seconds: float
    """At work, mending too."""
    an_hour: int | None
    """None where it cannot be told."""


class StagePace(NamedTuple):
    """How fast a stage goes."""

    paced_in: Literal["end", "step"]
    """What an hour's work is told in."""
    an_hour: int | None
    """None where it cannot be told."""
    left: Forecast | None
    """None where it cannot be told."""


class StageFacts(Value):
    """One stage, as far as it has come."""

    title: str
    steps: int
    confirmed: int
    is_finished: bool
    item: str
    """What the runs number: ends, sections, treadles."""
    parts: tuple[Contribution, ...]
    """In the order the people came."""
    pace: StagePace
    overrides: tuple[Overridden, ...]
    errors_at: tuple[int, ...]
    """How many steps were confirmed at each time an error was reported."""
    is_in_doubt: bool
    """Whether a reported error, or a wrong number, is not settled yet."""


class HandOver(Value):
    """A session as the next person finds it."""

    title: str
    session: str
    ends: int
    shafts: int
    reed: str
    """In words."""
    last_at: str
    """When it was last worked on, for print; "" where it never was."""
    last_weaver: str
    stages: tuple[StageFacts, ...]
    place: tuple[Message, ...]
    """Where the stage at hand was left, how to find that by touch, and what comes next."""
    sittings: tuple[tuple[str, PastSitting], ...]
    """Each with the time it began, for print."""

    @property
    def at_hand(self) -> StageFacts:
        """The stage to go on with."""
        return self.stages[at_hand(self.stages)]


def at_hand(stages: Sequence[StageFacts]) -> int:
    """Return the index of the stage to go on with; the last one when all are finished."""
    unfinished = (index for index, each in enumerate(stages) if not each.is_finished)
    return next(unfinished, len(stages) - 1)


def pace_of(stage: Stage, moments: Sequence[Moment], confirmed: int) -> StagePace:
    """Return the pace of a stage of which so many steps are confirmed."""
    paced_in = _paced_in(stage)
    steps = step_seconds(stage.name, work(moments))
    seconds = sum(each.seconds for each in work(moments) if each.after.stage == stage.name)
    speed = an_hour(len(steps), _amount(stage.steps[: len(steps)], paced_in), seconds)
    return StagePace(paced_in, speed, forecast(steps, len(stage.steps) - confirmed))


def _paced_in(stage: Stage) -> Literal["end", "step"]:
    return "end" if stage.item == "end" else "step"


def stage_facts(stage: Stage, state: State | None, moments: Sequence[Moment]) -> StageFacts:
    """Return the facts of one stage of a session; its state is None where it is not begun."""
    confirmed = state.confirmed if state else 0
    return StageFacts(
        title=title(stage),
        steps=len(stage.steps),
        confirmed=confirmed,
        is_finished=state is not None and state.base is Mode.FINISHED,
        item=stage.item,
        parts=contributions(stage, moments),
        pace=pace_of(stage, moments, confirmed),
        overrides=state.overrides if state else (),
        errors_at=tuple(
            each.position for each in moments if each.stage == stage.name and each.is_mistake
        ),
        is_in_doubt=state is not None and _is_in_doubt(state, stage),
    )


def contributions(stage: Stage, moments: Sequence[Moment]) -> tuple[Contribution, ...]:
    """Return what each person did of a stage, in the order they came to it."""
    seconds: defaultdict[str, float] = defaultdict(float)
    for stretch in work(moments):
        if stretch.after.stage == stage.name:
            seconds[stretch.after.weaver] += stretch.seconds
    runs: dict[str, list[list[Step]]] = {weaver: [] for weaver in seconds}
    owned = zip(owners(stage.name, moments), stage.steps, strict=False)  # some are to come
    for weaver, run in groupby(owned, key=itemgetter(0)):
        runs.setdefault(weaver, []).append([step for _, step in run])
    return tuple(_part(stage, weaver, theirs, seconds[weaver]) for weaver, theirs in runs.items())


def _part(stage: Stage, weaver: str, runs: list[list[Step]], seconds: float) -> Contribution:
    done = [step for run in runs for step in run]
    named = [[step for step in run if stage.number_of(step)] for run in runs]
    return Contribution(
        weaver,
        tuple((stage.number_of(run[0]), _last_number(run[-1], stage)) for run in named if run),
        edges=sum(not stage.number_of(step) for step in done),
        seconds=seconds,
        an_hour=an_hour(len(done), _amount(done, _paced_in(stage)), seconds),
    )


def _last_number(step: Step, stage: Stage) -> int:
    return step.last_end if stage.item == "end" else step.number


def _amount(steps: Sequence[Step], paced_in: str) -> int:
    """Return how many ends steps handle; or how many steps they are."""
    if paced_in == "step":
        return len(steps)
    return sum(step.ends for step in steps)


def _is_in_doubt(state: State, stage: Stage) -> bool:
    is_asked = state.base is Mode.COUNTING and not is_at_boundary(state, stage)
    is_held = state.base is Mode.HELD or bool(state.felt_wrong)
    return is_asked or is_held or state.asked is Kind.DONE


def place(state: State | None, stage: Stage) -> tuple[Message, ...]:
    """Return where a stage was left and what comes next, without what lay on top of the work.

    Raises JournalError where the state does not belong to this stage.
    """
    if state is None:
        _, effects = start(stage, Options(cautions=False, opening="whole", tell_help=False))
    else:
        doubt = state.question if state.asked is Kind.DONE else None
        work_alone = replace(state, is_paused=False, question=doubt, reading=None)
        effects = welcome_back(work_alone, stage, is_whole=True)
    return messages_in(effects)


def owners(stage: str, moments: Sequence[Moment]) -> list[str]:
    """Return who confirmed each step of a stage that is confirmed at the end.

    A step taken away and confirmed again is the second person's. One that only stands again,
    since going back was undone, stays with who had done it.
    """
    found: dict[int, str] = {}
    position = 0
    for moment in moments:
        if moment.stage != stage:
            continue
        if moment.confirmed:
            first, last = moment.confirmed
            found.update(dict.fromkeys(range(first, last + 1), moment.weaver))
        position = moment.position
    return [found.get(number, "") for number in range(1, position + 1)]
