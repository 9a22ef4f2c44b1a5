"""What moves the shafts: treadles tied to them, or the bars of a dobby with their pegs.

There is one bar for each pick of the lift plan's repeat. That a peg raises its shaft, and that the
bars are pegged a few at a time and counted, is common practice, no source.
"""

from typing import Final

from companion.job.contents import Bar
from companion.job.step_builder import in_groups, in_stretches
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing

MOST_BARS: Final = 4
"""Bars whose pegs are counted together at most; our own choice."""


def tie_up_stage(dressing: Dressing) -> Stage:
    """Return a step for every treadle, each counted by itself."""
    if dressing.tie_up is None:
        raise ValueError("expected a plan with a tie-up")
    treadles = ([Step(amount=ties.number, content=ties)] for ties in dressing.tie_up.treadles)
    groups = in_groups(treadles)
    return Stage("tie-up", "tie", *groups, dressing, item="treadle", danger=Danger.UNDER_SHAFTS)


def peg_stage(dressing: Dressing) -> Stage:
    """Return a step for every bar, with its pegs counted by a few bars."""
    bars = [Step(amount=len(shafts), content=Bar(shafts)) for shafts in dressing.pegged]
    groups = in_groups(in_stretches(bars, MOST_BARS))
    return Stage("peg", "peg", *groups, dressing, item="bar")
