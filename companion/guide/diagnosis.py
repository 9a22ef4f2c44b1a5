"""The likely causes of a count that differs from the plan, in one group."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from companion.guide.messages import Cause, CauseKind

if TYPE_CHECKING:
    from companion.sequence import Stage, Step


def likely_causes(stage: Stage, steps: tuple[Step, ...], difference: int) -> tuple[Cause, ...]:
    """Return the likely causes of a difference within these steps, the likeliest first.

    Args:
        stage: the stage the steps belong to.
        steps: the confirmed steps of the group.
        difference: the count less the planned count, in ends or dents; not 0.

    A difference that is a whole number of units, or of the ends of a step, points to those; then
    come the slips of one end that happen anywhere.
    """
    is_fewer = difference < 0
    whole = _whole_units(stage, steps, abs(difference), is_fewer=is_fewer)
    chunk = _whole_steps(stage, steps, abs(difference), is_fewer=is_fewer)
    if stage.counted == "dents":
        single = CauseKind.DENT_DOUBLED if is_fewer else CauseKind.DENT_SKIPPED
    else:
        single = CauseKind.LEFT_IN_CROSS if is_fewer else CauseKind.TWO_PICKED_AS_ONE
    slip = CauseKind.CONFIRMED_TWICE if is_fewer else CauseKind.NOT_CONFIRMED
    return (*whole, *chunk, Cause(single), Cause(slip))


def _whole_units(
    stage: Stage, steps: tuple[Step, ...], missing: int, *, is_fewer: bool
) -> tuple[Cause, ...]:
    """Return the cause of units left out or done twice, where the number of ends points to it."""
    if stage.counted == "dents":
        return ()
    sizes: Counter[int] = Counter()
    for step in steps:
        if not step.is_floating:
            sizes[step.unit] += step.last_end - step.first_end + 1
    fits = [(unit, size) for unit, size in sizes.items() if size > 1 and missing % size == 0]
    if not fits:
        return ()
    unit, size = min(fits, key=lambda fit: missing // fit[1])
    name = stage.unit_names[unit] if 0 <= unit < len(stage.unit_names) else ""
    kind = CauseKind.UNIT_LEFT_OUT if is_fewer else CauseKind.UNIT_TWICE
    return (Cause(kind, missing // size, name, size),)


def _whole_steps(
    stage: Stage, steps: tuple[Step, ...], missing: int, *, is_fewer: bool
) -> tuple[Cause, ...]:
    """Return the cause of a step of several ends left out or done twice."""
    if stage.counted == "dents":
        return ()
    sizes = {step.last_end - step.first_end + 1 for step in steps if not step.is_floating}
    if missing not in sizes - {1}:
        return ()
    kind = CauseKind.STEP_LEFT_OUT if is_fewer else CauseKind.STEP_TWICE
    return (Cause(kind, 1, size=missing),)
