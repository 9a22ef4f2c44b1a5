"""Where a state stands in its stage, and what its message there is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.command import Kind
from companion.guide.diagnosis import likely_causes
from companion.guide.mend_messages import LeftQuestion, MendStep
from companion.guide.mend_options import mend_question
from companion.guide.messages import (
    AcceptQuestion,
    CountQuestion,
    Finished,
    Hold,
    Message,
    Mode,
    Paused,
    ReadStep,
    RewindQuestion,
    StepCall,
    Warned,
    Where,
)
from companion.guide.position import (
    expected_so_far,
    found,
    is_at_boundary,
    present_group,
    steps_of,
)

__all__ = [
    "count_question",
    "expected_so_far",
    "finished",
    "hold",
    "is_at_boundary",
    "left_question",
    "present",
    "present_group",
    "question",
    "read_step",
    "step_call",
    "steps_of",
    "unit_name",
    "warned",
    "where",
]

if TYPE_CHECKING:
    from companion.guide.state import State
    from companion.guide.terms import Cause
    from companion.job import Stage


def unit_name(stage: Stage, unit: int) -> str:
    """Return what a unit is called, or ""."""
    return stage.unit_names[unit] if 0 <= unit < len(stage.unit_names) else ""


def step_call(state: State, stage: Stage, *, is_full: bool = False) -> StepCall:
    """Return the callout of the present step; a full one names colour and unit in any case."""
    step = stage.steps[state.confirmed]
    before = stage.steps[state.confirmed - 1] if state.confirmed else None
    is_new_unit = before is None or before.unit != step.unit
    is_told = state.options.say_unit and stage.counted == "ends"
    unit = unit_name(stage, step.unit) if is_told else ""
    return StepCall(
        step,
        stage.counted,
        colour=step.colour if state.options.tell_colour and (is_full or step.is_new_colour) else "",
        unit=unit if is_full or is_new_unit else "",
        unit_number=step.unit + 1,
    )


def count_question(state: State, stage: Stage) -> CountQuestion:
    """Return the question for the count of the present group."""
    group = present_group(state, stage)
    is_so_far = not is_at_boundary(state, stage)
    told = state.options.affirm_with_done and not is_so_far
    return CountQuestion(
        group.number,
        group.name,
        stage.counted,
        stage.asked,
        is_so_far=is_so_far,
        expected=group.expected if told else None,
    )


def hold(state: State, stage: Stage) -> Hold:
    """Return what is known about the count that was not right."""
    group = present_group(state, stage)
    expected = expected_so_far(state, stage)
    count = state.count or 0
    return Hold(
        group.number,
        group.name,
        count,
        expected,
        stage.counted,
        is_so_far=not is_at_boundary(state, stage),
        causes=_causes(state, stage, count - expected),
        item=stage.item,
        diagnoses=found(state, stage).diagnoses,
    )


def warned(state: State, stage: Stage, count: int) -> Warned:
    """Return what is known about a count that is not right and does not hold the walk."""
    expected = expected_so_far(state, stage)
    return Warned(
        present_group(state, stage).number,
        count,
        expected,
        stage.counted,
        is_so_far=not is_at_boundary(state, stage),
        causes=_causes(state, stage, count - expected),
    )


def _causes(state: State, stage: Stage, difference: int) -> tuple[Cause, ...]:
    group = present_group(state, stage)
    steps = steps_of(stage, group.first_step, state.confirmed)
    return likely_causes(stage, group, steps, difference)


def left_question(state: State, stage: Stage) -> LeftQuestion:
    """Return the question for what is left over, of which there must be more to ask."""
    items = stage.left_over
    item = items[len(state.left)]
    is_first = item.what not in {before.what for before in items[: len(state.left)]}
    return LeftQuestion(item, is_first)


def finished(state: State, stage: Stage) -> Finished:
    """Return the closing totals."""
    return Finished(
        stage.title,
        sum(group.expected for group in stage.groups),
        stage.counted,
        len(stage.groups),
        len(stage.steps),
        state.overrides,
        state.mended,
    )


def question(state: State, stage: Stage) -> Message:
    """Return the question that awaits yes or no."""
    asked = state.question
    if asked is not None and asked.kind is Kind.REWIND:
        step = stage.find(asked.number or 0) or stage.steps[0]
        return RewindQuestion(
            step, state.confirmed - step.number + 1, groups=state.checked - step.group + 1
        )
    if asked is not None and asked.kind is Kind.MEND:
        return mend_question(state, stage, asked.number or 0)
    group = present_group(state, stage)
    expected = expected_so_far(state, stage)
    return AcceptQuestion(state.count or 0, expected, stage.counted, group.number, group.name)


def read_step(state: State, stage: Stage, number: int, first: int) -> ReadStep:
    """Return one step of a read-back; the first one names its colour in any case."""
    step = stage.steps[number - 1]
    is_told = state.options.tell_colour and (number == first or step.is_new_colour)
    return ReadStep(step, stage.counted, step.colour if is_told else "")


def present(state: State, stage: Stage) -> Message:
    """Return what the weaver is being told or asked now, in full."""
    if state.is_paused:
        return Paused()
    if state.question is not None:
        return question(state, stage)
    if state.reading is not None:
        return read_step(state, stage, state.reading.at, state.reading.at)
    if state.task is not None and state.mending is not None:
        tasks = state.mending.tasks
        return MendStep(tasks[state.task], state.task + 1, len(tasks))
    return _work(state, stage)


def _work(state: State, stage: Stage) -> Message:
    if state.base is Mode.FINISHED:
        return finished(state, stage)
    if state.base is Mode.COUNTING:
        return count_question(state, stage)
    if state.base is Mode.LEFT_OVER:
        return left_question(state, stage)
    if state.base is Mode.HELD:
        return hold(state, stage)
    return step_call(state, stage, is_full=True)


def where(state: State, stage: Stage) -> Where:
    """Return where the walk is."""
    group = present_group(state, stage)
    total = len(stage.steps)
    step = stage.steps[state.confirmed] if state.confirmed < total else None
    return Where(
        state.mode,
        step,
        stage.counted,
        group.number,
        len(stage.groups),
        group.name,
        percent=100 * state.confirmed // total,
        steps_left=total - state.confirmed,
        steps_left_in_group=group.last_step - state.confirmed,
        colour=step.colour if step else "",
        unit=unit_name(stage, step.unit) if step else "",
    )
