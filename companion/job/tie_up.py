"""Tying up the treadles: which shafts each takes, and which way they go."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.job.step_builder import Made, in_groups
from companion.job.steps import Danger, Stage
from companion.loom.tie_up import tie_up

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing


def tie_up_stage(dressing: Dressing) -> Stage:
    """Return a step for every treadle, each counted by itself."""
    if not dressing.draft.treadles:
        raise ValueError("expected a plan with a tie-up")
    plan = tie_up(dressing.draft, dressing.loom_kind)
    steps, groups = in_groups([Made(ties.number, content=ties)] for ties in plan.treadles)
    return Stage(
        name="tie-up",
        counted="tie",
        steps=steps,
        groups=groups,
        dressing=dressing,
        item="treadle",
        danger=Danger.UNDER_SHAFTS,
    )
