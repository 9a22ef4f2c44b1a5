"""Pegging the bars of a dobby: one bar for each pick of the lift plan's repeat.

That a peg raises its shaft, and that the bars are pegged a few at a time and counted, is common
practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.job.contents import Bar
from companion.job.step_builder import Made, in_stretches, made_stage

if TYPE_CHECKING:
    from companion.job.steps import Stage
    from companion.loom.dressing import Dressing

MOST_BARS: Final = 4
"""Bars whose pegs are counted together at most; our own choice."""


def peg_stage(dressing: Dressing) -> Stage:
    """Return a step for every bar, with its pegs counted by a few bars."""
    bars = [Made(len(shafts), content=Bar(shafts)) for shafts in dressing.pegged]
    if not bars:
        raise ValueError("expected a plan with a lift plan")
    runs = in_stretches(1, len(bars), MOST_BARS)
    groups = (bars[first - 1 : last] for first, last in runs)
    return made_stage("peg", "peg", dressing, groups, item="bar")
