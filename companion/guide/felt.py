"""Comparing the shafts the weaver feels, end by end, with the plan.

A count cannot see ends that changed places; naming the shafts in order can.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from companion.guide.messages import FeltRight, FeltWrong

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.sequence import Step


class PlannedEnd(NamedTuple):
    """One end as planned."""

    number: int
    shaft: int
    step: int


def planned(steps: Iterable[Step]) -> list[PlannedEnd]:
    """Return the ends in heddles that these steps handle, in order."""
    return [
        PlannedEnd(end, shaft, step.number)
        for step in steps
        for end, shaft in enumerate(step.shafts, start=step.first_end)
    ]


def compared(felt: Sequence[int], plan: Sequence[PlannedEnd]) -> FeltRight | FeltWrong:
    """Return whether the shafts felt begin the plan, or the first end where they do not.

    Args:
        felt: shafts in the order of the ends; at least one.
        plan: at least one end.
    """
    for shaft, end in zip(felt, plan, strict=False):
        if shaft != end.shaft:
            return FeltWrong(end.number, shaft, end.shaft)
    if len(felt) > len(plan):
        return FeltWrong(plan[-1].number, felt[len(plan)], 0)
    return FeltRight(plan[0].number, plan[len(felt) - 1].number)
