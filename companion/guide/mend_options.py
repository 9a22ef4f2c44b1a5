"""The ways to mend what is known to be wrong, the cheapest first, and the small steps of each."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final, NamedTuple

from companion.diagnosis.effect import Effect, effect, in_cloth
from companion.diagnosis.mends import How, Mend, dent_mend, mends
from companion.diagnosis.slips import Diagnosis, Slip, SlipKind
from companion.guide.mend_messages import MendQuestion
from companion.guide.messages import Mode
from companion.guide.state import State
from companion.guide.terms import Do, Task
from companion.job import Stage, Step, threading_of
from companion.loom.threading_order import as_threaded

_IN_REED: Final = frozenset({SlipKind.SKIPPED_DENT, SlipKind.DOUBLED_DENT, SlipKind.WRONG_DENT})


class MendOption(NamedTuple):
    """One way to mend what one diagnosis says."""

    diagnosis: Diagnosis
    mend: Mend
    tasks: tuple[Task, ...]
    """Its small steps; none where the walk goes back and the work is done anew from there."""
    anew_from: int
    """The step to go back to, where there are no tasks; else 0."""


def mend_options(state: State, stage: Stage, known: Iterable[Diagnosis]) -> tuple[MendOption, ...]:
    """Return the ways to mend what is known to be wrong, the likeliest cause first as it is given.

    Doing the same work anew is offered once, whichever cause asks for it.
    """
    different: dict[object, MendOption] = {}
    for diagnosis in known:
        ways = _ways_in_reed if _is_in_reed(diagnosis) else _ways_in_heddles
        for way in ways(state, stage, diagnosis):
            different.setdefault(way.anew_from or way.tasks, way)
    return tuple(different.values())


def _is_in_reed(diagnosis: Diagnosis) -> bool:
    return any(slip.kind in _IN_REED for slip in diagnosis.slips)


def _ways_in_heddles(state: State, stage: Stage, diagnosis: Diagnosis) -> Iterator[MendOption]:
    looked = threading_of(stage)
    is_past = looked is not stage
    done = looked.steps if is_past else stage.steps[: state.confirmed]
    for mend in mends(diagnosis, max(step.last_end for step in done)):
        if mend.how[0] in {How.RETHREAD, How.THREAD_ON}:
            step = None if is_past else stage.find(mend.first)
            if step is not None and _is_worth(state, diagnosis):
                yield MendOption(diagnosis, mend, (), step.number)
        else:
            yield MendOption(diagnosis, mend, tuple(tasks(diagnosis, mend, looked)), 0)


def _ways_in_reed(state: State, stage: Stage, diagnosis: Diagnosis) -> Iterator[MendOption]:
    """Yield sleying anew to the edge begun at, where that is nearer, and from there on."""
    slip = diagnosis.slips[0]
    if not _is_worth(state, diagnosis):
        return
    done = stage.steps[: state.confirmed]
    if diagnosis.is_placed and len(diagnosis.slips) == 1 and _can_move(slip, stage):
        mend = dent_mend(slip, _dent_counts(done))
        moved = tuple(reed_tasks(done, slip)) if mend.first == 1 else ()
        if moved:
            mend = mend._replace(first=max(1, moved[0].first), last=moved[0].last)
            yield MendOption(diagnosis, mend, moved, 0)
    dent = slip.last if slip.kind is SlipKind.DOUBLED_DENT and slip.planned else slip.first
    step = next((step for step in done if step.dents[-1] >= dent), None)
    if step is not None:
        ends = sum(len(each.shafts) or 1 for each in done[step.number - 1 :])
        first, last = max(1, step.first_end), max(each.last_end for each in done)
        anew = Mend((How.RESLEY,), ends, 0, first, last)
        yield MendOption(diagnosis, anew, (), step.number)


def _is_worth(state: State, diagnosis: Diagnosis) -> bool:
    """Return whether to offer all anew from where a slip is, or from the first place it may be at.

    The latter only of the group in hand: elsewhere that is all since, and touch tells the place.
    """
    is_in_hand = not state.looking and state.base not in {Mode.FINISHED, Mode.LEFT_OVER}
    return diagnosis.is_placed or is_in_hand


def _can_move(slip: Slip, stage: Stage) -> bool:
    """Return whether all before a slip can move by one dent: out of it only if there is a dent."""
    if slip.kind is SlipKind.SKIPPED_DENT:
        return True
    return slip.kind is SlipKind.DOUBLED_DENT and stage.dressing.sley.empty_before > 0


def _dent_counts(steps: tuple[Step, ...]) -> tuple[int, ...]:
    """Return the ends in every dent up to the last one sleyed, dent 1 first."""
    counts = [0] * steps[-1].dents[-1]
    for step in steps:
        for dent in step.dents or ():
            counts[dent - 1] += 1
    return tuple(counts)


def mend_question(stage: Stage, offered: Sequence[MendOption], number: int) -> MendQuestion:
    """Return the question whether to mend in one of the ways, of which there must be any."""
    way = offered[number % len(offered)]
    shown = _effect(stage, way.diagnosis) if way.diagnosis.is_placed else None
    return MendQuestion(way.diagnosis, way.mend, shown, len(offered) - 1)


def _effect(stage: Stage, diagnosis: Diagnosis) -> Effect | None:
    """Return what slips in the heddles do to the cloth, where the treadling is known."""
    dressing = stage.dressing
    if _is_in_reed(diagnosis) or not dressing.draft.moves:
        return None
    threaded = as_threaded(dressing)
    laid, whole = in_cloth(diagnosis, threaded), threaded.whole or threaded
    return effect(whole.draft, tuple(end.shaft for end in whole.ends), laid)


def tasks(diagnosis: Diagnosis, mend: Mend, stage: Stage) -> Iterator[Task]:
    """Yield the tasks that put every slip right where it is.

    The slips are each at a place that is known, and the mend has a way for each; the stage tells
    the dents of the ends, where they go into the reed in the same pass.
    """
    for slip, how in zip(diagnosis.slips, mend.how, strict=True):
        yield from _tasks(slip, how, stage)


def _tasks(slip: Slip, how: How, stage: Stage) -> Iterator[Task]:
    if how is How.LEAVE:
        yield Task(Do.LEAVE, slip.first, slip.last, slip.shaft)
    elif how is How.PULL_ENDS:
        yield from _pulled(slip)
    elif how is How.SWAP_ENDS:
        yield Task(Do.PULL, slip.first, slip.last)
        yield from _drawn(slip, stage, Do.DRAW)
    elif how is How.THREAD_END:
        yield Task(_find(slip.first, stage), slip.first, slip.last)
        yield from _drawn(slip, stage, Do.DRAW_EMPTY)
    else:
        yield from _repaired(slip, stage)


def _find(end: int, stage: Stage) -> Do:
    """Return how an end that was left out is found: beside the one before it, if any."""
    return Do.FIND_FIRST if end in {1, stage.dressing.back_at} else Do.FIND_MISSED


def _pulled(slip: Slip) -> Iterator[Task]:
    find = Do.FIND_DOUBLED if slip.kind is SlipKind.DOUBLED_END else Do.FIND_EXTRA
    yield Task(find, slip.first, max(slip.first, slip.last), slip.found[-1])
    yield Task(Do.PULL_EXTRA, slip.first, max(slip.first, slip.last), slip.total_change)


def _repaired(slip: Slip, stage: Stage) -> Iterator[Task]:
    """Yield for each end: find it, tie a repair heddle, draw the end through it."""
    for place, shaft in enumerate(slip.planned):
        end = slip.first + place
        if slip.found:
            yield Task(Do.FIND, end, end, slip.found[place])
        else:
            yield Task(_find(end, stage), end, end)
        yield Task(Do.TIE, end, end, shaft)
        yield from _in_heddle_and_reed(end, shaft, stage, Do.DRAW_REPAIR)


def _drawn(slip: Slip, stage: Stage, do: Do) -> Iterator[Task]:
    for end, shaft in enumerate(slip.planned, start=slip.first):
        yield from _in_heddle_and_reed(end, shaft, stage, do)


def _in_heddle_and_reed(end: int, shaft: int, stage: Stage, do: Do) -> Iterator[Task]:
    yield Task(do, end, end, shaft)
    step = stage.find(end)
    if step is not None and step.dents:
        yield Task(Do.DENT, end, end, step.dents[end - step.first_end])


def reed_tasks(steps: tuple[Step, ...], slip: Slip) -> Iterator[Task]:
    """Yield the tasks that move all between a slip and the first edge by one dent.

    After a dent left empty the dents before it move up to it; where two dents' ends are in one,
    those of the first of them and all before move out of it.
    """
    last = slip.first if slip.kind is SlipKind.DOUBLED_DENT else slip.last
    moved = [step for step in steps if step.dents[-1] <= last]
    if not moved:
        return
    yield Task(Do.PULL_REED, moved[0].first_end, moved[-1].last_end)
    empty = 0
    for _, dent in groupby(reversed(moved), key=lambda step: step.dents[-1]):
        held = list(dent)
        yield Task(Do.SLEY, held[-1].first_end, held[0].last_end, empty)
        empty = held[-1].empty_dents
