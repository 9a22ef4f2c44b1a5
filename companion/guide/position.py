"""Where the work stands in its stage, and what is known to be wrong there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.guide.messages import Mode
from companion.job import Stage, threading_of

if TYPE_CHECKING:
    from companion.diagnosis.slips import Findings
    from companion.guide.state import State
    from companion.job import Step, StepGroup


def steps_of(stage: Stage, first: int, last: int) -> tuple[Step, ...]:
    """Return the steps with these numbers, inclusive."""
    return stage.steps[first - 1 : last]


def present_group(state: State, stage: Stage) -> StepGroup:
    """Return the group whose boundary is ahead; the last one when all are passed."""
    return stage.groups[min(state.checked, len(stage.groups) - 1)]


def is_at_boundary(state: State, stage: Stage) -> bool:
    """Return whether every step of the present group is confirmed."""
    return state.confirmed == present_group(state, stage).last_step


def is_complete(state: State, stage: Stage) -> bool:
    """Return whether every boundary is passed; what is left over may still be asked for."""
    return state.checked == len(stage.groups)


def stretch(state: State, stage: Stage) -> tuple[Step, ...]:
    """Return the steps a report is about: the group so far, one looked at, or in the end all."""
    if state.looking:
        looked = threading_of(stage)
        group = looked.groups[state.looking - 1]
        last = min(group.last_step, state.confirmed) if looked is stage else group.last_step
        return steps_of(looked, group.first_step, last)
    first = 1 if is_complete(state, stage) else present_group(state, stage).first_step
    return steps_of(stage, first, state.confirmed)


def expected_so_far(state: State, stage: Stage) -> int:
    """Return the right answer to a count: what is left over, if that is asked, else so far."""
    if state.base is Mode.LEFT_OVER:
        return stage.left_over[len(state.left)].planned
    return in_group_so_far(state, stage)


def in_group_so_far(state: State, stage: Stage) -> int:
    """Return what the count of the present group is when all is right."""
    group = present_group(state, stage)
    left = steps_of(stage, state.confirmed + 1, group.last_step)
    return group.expected - sum(step.amount for step in left)


def found(state: State, stage: Stage) -> Findings:
    """Return what all that is reported of the stretch in hand most likely means."""
    from companion.guide.diagnosis import findings, left_findings  # noqa: PLC0415 - what has gone wrong waits

    steps = stretch(state, stage)
    if state.looking:
        looked, told = threading_of(stage), state.reported.counted
        difference = None if told is None else told - sum(step.amount for step in steps)
        return findings(looked, steps, difference, state.reported)
    if any(answer is not None for answer in state.left):
        return left_findings(stage, steps, state.left)
    count = state.count if state.base is Mode.HELD else None
    difference = None if count is None else count - expected_so_far(state, stage)
    return findings(stage, steps, difference, state.reported)


def may_affirm(state: State, stage: Stage) -> bool:
    """Return whether the count that is due may be affirmed; never one that was found wrong."""
    is_due = state.base is Mode.COUNTING and is_at_boundary(state, stage)
    is_clear = state.doubted != present_group(state, stage).number
    return is_due and is_clear and not state.options.demand_counts
