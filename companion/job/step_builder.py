"""Numbering the steps and groups of a stage whose steps are not threaded or sleyed."""

from collections.abc import Iterable, Sequence
from typing import TypeVar

from companion.base.text import listed
from companion.job.steps import Step, StepGroup
from companion.loom.dressing import End, GroupName

T = TypeVar("T")


def in_groups(groups: Iterable[Sequence[Step]]) -> tuple[tuple[Step, ...], tuple[StepGroup, ...]]:
    """Return steps and groups, both numbered from 1 on."""
    steps: list[Step] = []
    made: list[StepGroup] = []
    for number, group in enumerate(groups, start=1):
        first = len(steps) + 1
        for each in group:
            known = ("", steps[-1].colour if steps else "")
            is_new = each.colour not in known
            steps.append(each._replace(number=len(steps) + 1, group=number, is_new_colour=is_new))
        expected = sum(each.amount for each in group)
        made.append(StepGroup(number, GroupName(), first, len(steps), expected))
    return tuple(steps), tuple(made)


def colours_of(ends: Sequence[End]) -> str:
    """Return the colours of neighbouring ends, "black and white" where there are several."""
    if len(ends) == 1:
        return ends[0].colour
    return listed(dict.fromkeys(end.colour for end in ends if end.colour))


def in_stretches(items: Sequence[T], most: int) -> list[Sequence[T]]:
    """Return things in a row as runs of nearly equal length, of at most `most`."""
    size = len(items)
    runs = -(-size // most)
    return [items[size * run // runs : size * (run + 1) // runs] for run in range(runs)]
