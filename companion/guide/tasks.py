"""The small steps of a mend, in the order in which they are done."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from companion.diagnosis.mends import How
from companion.diagnosis.slips import SlipKind
from companion.guide.terms import Do, Task

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.diagnosis.mends import Mend
    from companion.diagnosis.slips import Diagnosis, Slip
    from companion.job import Stage, Step


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
    yield Task(find, slip.first, max(slip.first, slip.last), slip.found[0])
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
