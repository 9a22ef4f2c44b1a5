"""Winding the warp, colour by colour, with a group at every tie of the counting cross."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.job.step_builder import Made, made_stage
from companion.job.steps import Danger, Stage
from companion.loom.winding import counting_groups

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing
    from companion.loom.winding import Run


def wind_stage(dressing: Dressing) -> Stage:
    """Return the winding, with a step for every run of one colour in a group."""
    return made_stage(
        "wind",
        "end",
        dressing,
        ([_made(run) for run in runs] for runs in counting_groups(dressing)),
        danger=Danger.WARP_LOOPS,
    )


def _made(run: Run) -> Made:
    return Made(run.ends, run.first, run.last, " and ".join(run.colours), run)
