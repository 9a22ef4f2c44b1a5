"""Tying up the treadles: which shafts each takes, and which way they go."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.job.step_builder import Made, made_stage
from companion.job.steps import Danger, Stage

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing


def tie_up_stage(dressing: Dressing) -> Stage:
    """Return a step for every treadle, each counted by itself."""
    if dressing.tie_up is None:
        raise ValueError("expected a plan with a tie-up")
    return made_stage(
        "tie-up",
        "tie",
        dressing,
        ([Made(ties.number, content=ties)] for ties in dressing.tie_up.treadles),
        item="treadle",
        danger=Danger.UNDER_SHAFTS,
    )
