"""The likely causes of a count that differs from the plan, in one group."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from companion.guide.terms import Cause, CauseKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.sequence import Stage, Step, StepGroup

_MOST_CAUSES: Final = 4
"""As many as the ear keeps."""
_MOST_UNITS: Final = 3
"""More units than this are not left out of one group by a slip."""
_PLACE_LOST: Final = {True: CauseKind.CONFIRMED_TWICE, False: CauseKind.NOT_CONFIRMED}
"""How the walk itself and the work get apart, where the count is too low and where too high."""


def likely_causes(
    stage: Stage, group: StepGroup, steps: tuple[Step, ...], difference: int
) -> tuple[Cause, ...]:
    """Return the likely causes of a difference within these steps, the likeliest first.

    Args:
        stage: the stage the steps belong to.
        group: the group they belong to.
        steps: the confirmed steps of the group.
        difference: the count less the planned count, in ends or dents; not 0.

    A difference that is exactly what a way of counting or a whole unit would make points to that;
    the slips that happen anywhere come after. What is left out, doubled or skipped in threading
    and sleying, and how it shows in a count, is common practice, without a source.
    """
    named = group.too_few if difference < 0 else group.too_many
    if named:
        own = Cause(CauseKind.AS_NAMED, name=named)
        lost = Cause(_PLACE_LOST[difference < 0], abs(difference))
        return (own, lost) if len(steps) > 1 else (own,)
    find = _in_dents if stage.counted == "dents" else _in_ends
    return tuple(find(stage, steps, difference))[:_MOST_CAUSES]


def _in_dents(_stage: Stage, steps: tuple[Step, ...], difference: int) -> Iterator[Cause]:
    ends = sum(len(step.shafts) or 1 for step in steps)
    if difference == ends - len(steps):
        yield Cause(CauseKind.ENDS_FOR_DENTS)
    if difference == sum(step.empty_dents for step in steps):
        yield Cause(CauseKind.EMPTY_COUNTED, difference)
    kinds = (
        (CauseKind.DENT_DOUBLED, CauseKind.CONFIRMED_TWICE)
        if difference < 0
        else (CauseKind.DENT_SKIPPED, CauseKind.NOT_CONFIRMED)
    )
    yield from (Cause(kind, abs(difference)) for kind in kinds)


def _in_ends(stage: Stage, steps: tuple[Step, ...], difference: int) -> Iterator[Cause]:
    if difference == -sum(step.is_doubled for step in steps):
        yield Cause(CauseKind.DOUBLED_AS_ONE, -difference)
    if difference == sum(step.is_floating for step in steps):
        yield Cause(CauseKind.FLOATING_COUNTED, difference)
    is_fewer, number = difference < 0, abs(difference)
    yield from _whole_units(stage, steps, number, is_fewer=is_fewer)
    yield from _whole_step(steps, number, is_fewer=is_fewer)
    kinds = (
        (CauseKind.LEFT_IN_CROSS, CauseKind.CONFIRMED_TWICE)
        if is_fewer
        else (CauseKind.TWO_PICKED_AS_ONE, CauseKind.NOT_CONFIRMED)
    )
    yield from (Cause(kind, number) for kind in kinds)


def _whole_units(
    stage: Stage, steps: tuple[Step, ...], number: int, *, is_fewer: bool
) -> Iterator[Cause]:
    """Yield the cause of units left out or threaded twice, where they make the difference.

    Of several units that would, the largest is named, since it needs the fewest slips.
    """
    sizes: Counter[int] = Counter()
    for step in steps:
        sizes[step.unit] += len(step.shafts)
    fits = [
        (size, unit)
        for unit, size in sizes.items()
        if size > 1 and number % size == 0 and number // size <= _MOST_UNITS
    ]
    if fits:
        size, unit = max(fits)
        name = stage.unit_names[unit] if 0 <= unit < len(stage.unit_names) else ""
        kind = CauseKind.UNIT_LEFT_OUT if is_fewer else CauseKind.UNIT_TWICE
        yield Cause(kind, number // size, name, size)


def _whole_step(steps: tuple[Step, ...], number: int, *, is_fewer: bool) -> Iterator[Cause]:
    """Yield the cause of one step of several ends left out or threaded twice."""
    if number > 1 and number in {len(step.shafts) for step in steps}:
        kind = CauseKind.STEP_LEFT_OUT if is_fewer else CauseKind.STEP_TWICE
        yield Cause(kind, 1, size=number)
