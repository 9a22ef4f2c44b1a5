"""Comparing what the weaver feels, shaft by shaft or dent by dent, with the plan.

A number of ends cannot see ends that changed places; naming what is felt in order can.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from companion.guide.events import FeltRight, FeltWrong
from companion.job import Stage, Step


class Felt(NamedTuple):
    """One thing to feel, as planned."""

    number: int
    """Of the end, or of the dent when sleying."""
    value: int
    """Its shaft, or how many ends the dent holds."""
    step: int


def planned(stage: Stage, steps: Iterable[Step]) -> list[Felt]:
    """Return what there is to feel in these steps: shafts, or ends in each dent not left empty."""
    if stage.counted == "dent":
        return list(_dents(steps))
    return [
        Felt(end, shaft, step.number)
        for step in steps
        for end, shaft in enumerate(step.shafts, start=step.first_end)
    ]


def _dents(steps: Iterable[Step]) -> Iterator[Felt]:
    for step in steps:
        dent = step.dents[0]
        yield from (Felt(dent - more, 0, step.number) for more in range(step.empty_dents, 0, -1))
        yield Felt(dent, len(step.shafts) or 1, step.number)


def still_wrong(stage: Stage, felt: tuple[int, ...], plan: Sequence[Felt]) -> tuple[int, ...]:
    """Return of what was felt wrong what is so in no more than this; () where that is right."""
    return if_wrong(stage, felt[: len(plan)], plan)


def if_wrong(stage: Stage, felt: tuple[int, ...], plan: Sequence[Felt]) -> tuple[int, ...]:
    """Return what was felt, or () where that is right."""
    return felt if felt and isinstance(compared(stage, felt, plan), FeltWrong) else ()


def compared(stage: Stage, felt: Sequence[int], plan: Sequence[Felt]) -> FeltRight | FeltWrong:
    """Return whether what was felt begins the plan, or the first place where it does not."""
    item = stage.counted
    for value, place in zip(felt, plan, strict=False):
        if value != place.value:
            return FeltWrong(place.number, value, place.value, item)
    if len(felt) > len(plan):
        return FeltWrong(plan[-1].number, felt[len(plan)], 0, item, is_beyond=True)
    return FeltRight(plan[0].number, plan[len(felt) - 1].number, item)
