"""Confirming steps, un-confirming them, and counting at the boundaries."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from companion.guide.effects import Outcome, Say, Tone, Tune
from companion.guide.mend_messages import Suspected
from companion.guide.messages import (
    CountRight,
    FeltRight,
    GroupEnd,
    GroupStart,
    Message,
    Mode,
    Override,
    Restored,
    Returned,
    Rewound,
)
from companion.guide.place import (
    count_question,
    finished,
    hold,
    in_hand,
    left_question,
    present,
    step_call,
    warned,
)
from companion.guide.position import (
    expected_so_far,
    found,
    is_at_boundary,
    present_group,
    stretch,
)
from companion.guide.refuse import refused
from companion.guide.state import Base, State, change, undone
from companion.guide.terms import Refusal
from companion.guide.touch_check import compared, planned
from companion.job.handful import handful

if TYPE_CHECKING:
    from companion.command import Command
    from companion.job import Stage, Step


def done(state: State, _command: Command, stage: Stage) -> Outcome:
    """Confirm the present step; at a boundary, affirm the count where that is the setting."""
    if state.base is Mode.WALKING:
        return _confirm(state, stage)
    if state.base is Mode.LEFT_OVER:
        return _left(state, stage, None)
    is_affirmed = state.base is Mode.COUNTING and state.options.affirm_with_done
    if is_affirmed and is_at_boundary(state, stage):
        return _counted_right(state, stage)
    return refused(state, stage, _NOT_DONE[state.base])


def _confirm(state: State, stage: Stage) -> Outcome:
    confirmed = in_hand(state, stage)[-1].number
    group = present_group(state, stage)
    if confirmed < group.last_step:
        after = change(state, Mode.WALKING, confirmed=confirmed)
        return _accepted(after, "confirm", step_call(after, stage))
    if state.options.ask_counts and group.expected:
        after = change(state, Mode.COUNTING, confirmed=confirmed)
        return _accepted(after, "boundary", count_question(after, stage))
    end = GroupEnd(group.number, group.name, group.expected, stage.counted)
    return _pass_boundary(state, stage, end, confirmed=confirmed)


def back(state: State, _command: Command, stage: Stage) -> Outcome:
    """Un-confirm the steps told last; a group closed before them opens again."""
    if state.confirmed == 0:
        return refused(state, stage, Refusal.NOTHING_CONFIRMED)
    first, _ = handful(stage, state.confirmed, state.options.size)
    after, reopened = _go_to(state, stage.steps[first - 1])
    said = (Returned(reopened), step_call(after, stage, is_full=True))
    return _accepted(after, "confirm", *said)


def count(state: State, command: Command, stage: Stage) -> Outcome:
    """Compare a count with the plan: go on, or hold.

    A bare row of numbers is not a count but the shafts of the group, from its first end on. Right
    after a boundary nothing is counted, so that a count heard twice does no harm.
    """
    if state.base is Mode.FINISHED:
        return refused(state, stage, Refusal.FINISHED)
    if state.base is Mode.LEFT_OVER:
        if command.number is None:
            return refused(state, stage, Refusal.ONE_NUMBER)
        return _left(state, stage, command.number)
    if stage.has_shafts and len(command.numbers) >= _LEAST_FELT[state.base]:
        return _feel(state, command, stage)
    if command.number is None:
        return refused(state, stage, Refusal.ONE_NUMBER)
    why = _uncountable(state, stage)
    return refused(state, stage, why) if why else _compare(state, stage, command.number)


def _compare(state: State, stage: Stage, number: int) -> Outcome:
    if number != expected_so_far(state, stage):
        if stage.only_warns:
            return _warn(state, stage, number)
        held = change(state, Mode.HELD, count=number)
        after = replace(held, reported=state.reported)
        return _accepted(after, "trouble", hold(after, stage))
    if is_at_boundary(state, stage):
        return _counted_right(state, stage)
    return _go_on(state, stage, "confirm", _right(state, stage, number))


def _warn(state: State, stage: Stage, number: int) -> Outcome:
    """Tell a wrong count; at a boundary let it stand, on record, and go on."""
    warning = warned(state, stage, number)
    if not is_at_boundary(state, stage):
        return _go_on(state, stage, "trouble", warning)
    override = Override(warning.group, state.confirmed, number, warning.expected)
    return _pass_boundary(
        state, stage, warning, confirmed=state.confirmed, added=override, tune="trouble"
    )


def _go_on(state: State, stage: Stage, tune: Tune, message: Message) -> Outcome:
    """Say something about the group so far, and take up the present step."""
    after = state if state.base is Mode.WALKING else change(state, Mode.WALKING)
    return _accepted(after, tune, message, step_call(after, stage, is_full=True))


def _uncountable(state: State, stage: Stage) -> Refusal | None:
    """Return why nothing can be counted in the present group, or None."""
    group = present_group(state, stage)
    if not group.expected:
        return Refusal.NOTHING_TO_COUNT
    return Refusal.NOTHING_IN_GROUP if state.confirmed < group.first_step else None


def _feel(state: State, command: Command, stage: Stage) -> Outcome:
    """Compare what the weaver feels with the group's plan, from its first end or dent on."""
    plan = planned(stage, stretch(state, stage))
    if not plan:
        return refused(state, stage, Refusal.NOTHING_IN_GROUP)
    result = compared(stage, command.numbers, plan)
    if isinstance(result, FeltRight):
        after = replace(state, reported=state.reported._replace(felt=()))
        return _accepted(after, "confirm", result, present(after, stage))
    after = replace(state, reported=state.reported._replace(felt=command.numbers))
    return _accepted(after, "trouble", result, suspected(after, stage))


def suspected(state: State, stage: Stage) -> Suspected:
    """Return what all that is reported of the stretch in hand most likely means."""
    known = found(state, stage)
    return Suspected(known.diagnoses, known.advice)


def mistake(state: State, _command: Command, stage: Stage) -> Outcome:
    """Hold the walk where it is and ask for the count of the group so far."""
    if state.base is Mode.FINISHED:
        return refused(state, stage, Refusal.FINISHED)
    if state.base is not Mode.WALKING:
        return _accepted(state, "trouble", present(state, stage))
    why = _uncountable(state, stage)
    if why:
        return refused(state, stage, why)
    after = change(state, Mode.COUNTING)
    return _accepted(after, "trouble", count_question(after, stage))


def accept(state: State, stage: Stage, reason: str) -> Outcome:
    """Let the count stand that was not right, and record it."""
    group = present_group(state, stage)
    override = Override(
        group.number, state.confirmed, state.count or 0, expected_so_far(state, stage), reason
    )
    if is_at_boundary(state, stage):
        return _pass_boundary(state, stage, override, confirmed=state.confirmed, added=override)
    after = change(state, Mode.WALKING, added=override)
    return _accepted(after, "confirm", override, step_call(after, stage, is_full=True))


def rewind(state: State, stage: Stage, end: int) -> Outcome:
    """Un-confirm every step from the one that handles this end on."""
    return go_to(state, stage, stage.find(end) or stage.steps[0])


def go_to(state: State, stage: Stage, step: Step) -> Outcome:
    """Un-confirm every step from this one on."""
    after, reopened = _go_to(state, step)
    rewound = Rewound(state.confirmed - after.confirmed, reopened)
    return _accepted(after, "confirm", rewound, step_call(after, stage, is_full=True))


def undo(state: State, _command: Command, stage: Stage) -> Outcome:
    """Reverse the last change of the work."""
    if not state.undo:
        return refused(state, stage, Refusal.NOTHING_TO_UNDO)
    after = undone(state)
    return _accepted(after, "confirm", Restored(), present(after, stage))


def _accepted(state: State, tune: Tune, *messages: Message) -> Outcome:
    said = tuple(Say(message) for message in messages)
    return Outcome(state, (Tone(tune), *said), is_accepted=True)


def _go_to(state: State, step: Step) -> tuple[State, int]:
    """Return the state with this step to come, and the first group that opens again or 0."""
    checked = min(state.checked, step.group - 1)
    after = change(state, Mode.WALKING, confirmed=step.number - 1, checked=checked)
    return after, step.group if checked < state.checked else 0


def _right(state: State, stage: Stage, number: int) -> CountRight:
    group = present_group(state, stage)
    is_so_far = not is_at_boundary(state, stage)
    return CountRight(group.number, group.name, number, stage.counted, is_so_far)


def _counted_right(state: State, stage: Stage) -> Outcome:
    right = _right(state, stage, expected_so_far(state, stage))
    return _pass_boundary(state, stage, right, confirmed=state.confirmed)


def _pass_boundary(
    state: State,
    stage: Stage,
    closing: Message,
    *,
    confirmed: int,
    added: Override | None = None,
    tune: Tune | None = None,
) -> Outcome:
    """Close the present group with a message and begin the one after, or finish."""
    checked = state.checked + 1
    is_last = checked == len(stage.groups)
    has_left = is_last and asks_left(state, stage)
    base: Base = Mode.FINISHED if is_last else Mode.WALKING
    if has_left:
        base = Mode.LEFT_OVER
    after = change(state, base, confirmed=confirmed, checked=checked, added=added)
    if has_left:
        return _accepted(after, tune or "boundary", closing, left_question(after, stage))
    if is_last:
        return _accepted(after, tune or "finish", closing, finished(after, stage))
    usual: Tune = "boundary" if state.base is Mode.WALKING else "confirm"
    opening = group_start(after, stage), step_call(after, stage)
    return _accepted(after, tune or usual, closing, *opening)


def asks_left(state: State, stage: Stage) -> bool:
    """Return whether what is left over is asked for at the end of the stage."""
    options = state.options
    return options.ask_counts and options.ask_left and bool(stage.left_over)


def _left(state: State, stage: Stage, answer: int | None) -> Outcome:
    """Take how many are left over, or None for as planned, and ask for the next or finish."""
    items = stage.left_over
    item, left = items[len(state.left)], (*state.left, answer)
    added = None
    if answer is not None and answer != item.planned:
        shaft = f" on shaft {item.shaft}" if item.shaft else ""
        what = f"{item.what}s left over{shaft}"
        group = present_group(state, stage).number
        added = Override(group, state.confirmed, answer, item.planned, what=what)
    base: Base = Mode.FINISHED if len(left) == len(items) else Mode.LEFT_OVER
    after = change(state, base, added=added, left=left)
    said: tuple[Message, ...] = () if added is None else (added,)
    if base is Mode.LEFT_OVER:
        tune: Tune = "confirm" if added is None else "trouble"
        return _accepted(after, tune, *said, left_question(after, stage))
    doubt = suspected(after, stage)
    said = (*said, doubt) if doubt.diagnoses or doubt.advice else said
    return _accepted(after, "finish", *said, finished(after, stage))


def group_start(state: State, stage: Stage) -> GroupStart:
    """Return the opening of the present group."""
    group = present_group(state, stage)
    return GroupStart(group.number, len(stage.groups), group.name)


def rewind_target(state: State, command: Command, stage: Stage) -> Step | Refusal:
    """Return the step to rewind to, or why there is none."""
    step = stage.find(command.number or 0)
    if step is None:
        return Refusal.NO_SUCH_END
    return step if step.number <= state.confirmed else Refusal.NOT_YET


_NOT_DONE: Final = {
    Mode.COUNTING: Refusal.COUNT_WANTED,
    Mode.HELD: Refusal.HELD,
    Mode.FINISHED: Refusal.FINISHED,
}

_LEAST_FELT: Final = {Mode.WALKING: 2, Mode.COUNTING: 4, Mode.HELD: 4}
"""From how many numbers on a row is taken as shafts; where a count is due, up to three may be its
digits."""
