"""How many steps one callout takes in hand: one end, a few, a unit, a dent or a group.

A stage is always made of its smallest steps, so the place that is kept does not depend on how
many are told together, and the weaver may change that in the middle of a group.
"""

from collections.abc import Iterator, Sequence
from itertools import takewhile
from typing import Final

from companion.command.size import StepSize
from companion.job.contents import Knot, Pick
from companion.job.steps import Stage, Step, StepGroup


def handful(stage: Stage, number: int, size: StepSize) -> tuple[int, int]:
    """Return the first and the last step of the handful that a step lies in, inclusive.

    The handfuls of a group lie the same wherever the weaver comes into it; none crosses a group.
    """
    if size == StepSize():  # each end by itself, as most walk
        return number, number
    group = stage.groups[stage.steps[number - 1].group - 1]
    return next(span for span in _handfuls(stage, group, size) if number <= span[1])


def _handfuls(stage: Stage, group: StepGroup, size: StepSize) -> Iterator[tuple[int, int]]:
    run: list[Step] = []
    for step in stage.steps_of(group):
        if run and not _joins(run, step, size):
            yield run[0].number, run[-1].number
            run = []
        run.append(step)
    yield run[0].number, run[-1].number


def _told_together(step: Step) -> bool:
    return bool(step.shafts) or isinstance(step.content, (Knot, Pick))


def begins_anew(run: Sequence[Step], step: Step) -> bool:
    """Return whether a step cannot be told with others: it goes back, or heddles stay free within.

    Heddles that stay free are told before all of them, so each shaft's must lie before its first.
    """
    is_late = bool(step.heddles_left) and any({*step.shafts} & {*other.shafts} for other in run)
    return step.is_back or is_late


def _joins(run: Sequence[Step], step: Step, size: StepSize) -> bool:
    """Return whether a step is told together with those before it."""
    before = run[-1]
    # What has no shafts is told in words of its own, and a milestone is a place to stop at.
    if (
        before.notes
        or begins_anew(run, step)
        or not (_told_together(before) and _told_together(step))
    ):
        return False
    if before.colour != step.colour and isinstance(step.content, Pick):
        return False
    if size.by == "group":
        return True
    if size.by == "unit":
        return before.unit == step.unit
    if size.by == "dent":
        return bool(step.dents) and set(before.dents) == set(step.dents)
    held = sum(member.ends or 1 for member in run)
    alike = (before.unit, before.colour, before.beam)
    is_alike = alike == (step.unit, step.colour, step.beam)
    is_plain = not (before.is_doubled or step.is_doubled)
    return held + (step.ends or 1) <= size.ends and is_alike and is_plain


_TURNS: Final = 4
"""Ends in a row of which it is worth saying that two colours take turns."""


def turning(steps: Sequence[Step]) -> int:
    """Return how many ends, from the first on, change between two colours or beams at each end.

    0 where they are too few to be worth saying so.
    """
    kinds = [(step.colour, step.beam) if len(step.shafts) == 1 else None for step in steps]
    if len(kinds) < _TURNS or None in kinds[:2] or kinds[0] == kinds[1]:
        return 0
    if bool(steps[0].colour) != bool(steps[1].colour):
        return 0  # what has no colour named cannot be named with one that has
    pairs = zip(kinds, kinds[2:], strict=False)
    run = 2 + sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
    return run if run >= _TURNS else 0
