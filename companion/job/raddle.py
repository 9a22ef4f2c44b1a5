"""Spreading the warp in the raddle, section by section, before it is beamed.

What goes wrong here is only the spread of the warp on its beam, so a wrong count warns and does
not hold the walk (common practice, no source). The lease sticks' ends are tied before the ties of
the cross are cut, since a lost cross cannot be had back (common practice, no source).
"""

from collections.abc import Iterator
from itertools import accumulate
from typing import Final

from companion.job.contents import Note
from companion.job.step_builder import colours_of, in_groups, in_stretches
from companion.job.steps import Stage, Step
from companion.loom.dressing import Dressing, RaddlePlan

MOST_SECTIONS: Final = 12
"""Sections counted together at most; our own choice."""


def raddle_stage(dressing: Dressing) -> Stage:
    """Return the spreading, with a section a step; the centre is a boundary."""
    plan = dressing.raddle
    if plan is None:
        raise ValueError("expected a plan with a raddle")
    sections = list(_sections(dressing, plan))
    halves = sections[: plan.middle], sections[plan.middle :]
    runs = (run for half in halves for run in in_stretches(half, MOST_SECTIONS))
    return Stage("raddle", "section", *in_groups(runs), dressing, item="section", only_warns=True)


def _sections(dressing: Dressing, plan: RaddlePlan) -> Iterator[Step]:
    edges = accumulate(plan.counts)
    for number, (count, upto) in enumerate(zip(plan.counts, edges, strict=True), start=1):
        first, last = (upto - count + 1, upto) if count else (0, 0)
        colour = colours_of(dressing.ends[upto - count : upto])
        notes = tuple(_milestone(plan, number))
        yield Step(0, first, last, amount=min(count, 1), colour=colour, notes=notes)


def _milestone(plan: RaddlePlan, number: int) -> Iterator[Note]:
    """Yield what the weaver can check by touch once this section is filled."""
    used = len(plan.counts)
    if number == used:
        yield Note.ALL_SECTIONS
    elif number == plan.middle:
        yield Note.CENTRE_IN_SECTION if used % 2 else Note.CENTRE_AFTER_SECTION
