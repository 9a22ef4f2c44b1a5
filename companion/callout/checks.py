"""The wording of counts, holds, read-backs and what mends them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.callout.steps import describe, number_counted, number_of
from companion.guide.messages import CauseKind

if TYPE_CHECKING:
    from companion.guide.messages import (
        AcceptQuestion,
        Cause,
        CountQuestion,
        CountRight,
        FeltRight,
        FeltWrong,
        GroupEnd,
        Hold,
        Override,
        ReadingStart,
        RewindQuestion,
        Rewound,
    )

_CAUSES: Final = {
    CauseKind.LEFT_IN_CROSS: "an end left in the cross",
    CauseKind.CONFIRMED_TWICE: "a step confirmed twice",
    CauseKind.TWO_PICKED_AS_ONE: "two ends picked as one, or doubled in a heddle",
    CauseKind.NOT_CONFIRMED: "a step made but not confirmed",
    CauseKind.DENT_DOUBLED: "the ends of two dents in one",
    CauseKind.DENT_SKIPPED: "a dent skipped, or the ends of one dent in two",
}


def count_question(message: CountQuestion) -> str:
    """Return the question for a count."""
    if message.is_so_far:
        return f"How many {message.counted} does group {message.group} hold so far?"
    if message.expected is None:
        return f"Group {message.group} is complete. How many {message.counted} does it hold?"
    planned = number_counted(message.expected, message.counted)
    return f"Group {message.group} is complete, with {planned} planned. Does it hold them all?"


def count_right(message: CountRight) -> str:
    """Return the answer to a right count."""
    counted = number_counted(message.count, message.counted)
    if message.is_so_far:
        return f"{counted} so far, as planned."
    return f"{counted}, as planned: group {message.group} is closed."


def group_end(message: GroupEnd) -> str:
    """Return the end of a group that is not counted."""
    return (
        f"Group {message.group} is complete: {number_counted(message.expected, message.counted)}."
    )


def hold(message: Hold) -> str:
    """Return what is known about a wrong count, and what the weaver can do."""
    difference = message.count - message.expected
    amount = f"{abs(difference)} too {'many' if difference > 0 else 'few'}"
    so_far = " so far" if message.is_so_far else ""
    causes = "; ".join(_cause(cause) for cause in message.causes)
    return (
        f"Group {message.group} holds {number_counted(message.count, message.counted)}{so_far}, "
        f"but {message.expected} {'is' if message.expected == 1 else 'are'} planned: {amount}. "
        f"Likely causes: {causes}. "
        "Give a new number, listen to the group, go to an end, or let the number stand."
    )


def _cause(cause: Cause) -> str:
    if cause.kind in _CAUSES:
        return _CAUSES[cause.kind]
    is_unit = cause.kind in {CauseKind.UNIT_LEFT_OUT, CauseKind.UNIT_TWICE}
    noun = (cause.name or "unit") if is_unit else "step"
    is_left_out = cause.kind in {CauseKind.UNIT_LEFT_OUT, CauseKind.STEP_LEFT_OUT}
    slip = "left out" if is_left_out else "threaded twice"
    passes = f"{noun}, {number_of(cause.size, 'end')}" if cause.times == 1 else ""
    return f"{passes or f'{noun}, {cause.times} times {cause.size} ends'}, {slip}"


def reading_start(message: ReadingStart) -> str:
    """Return the opening of a read-back."""
    what = f"Reading group {message.group}" if message.group else "Reading"
    start = f" from end {message.first_end}" if message.first_end else " from the edge"
    return what + start + (", as planned; it is not confirmed yet." if message.is_ahead else ".")


def felt_right(message: FeltRight) -> str:
    """Return the answer to shafts felt as planned."""
    return f"{number_of(message.ends, 'end')} as planned."


def felt_wrong(message: FeltWrong) -> str:
    """Return the first end where the shafts felt leave the plan."""
    if not message.planned:
        return f"The reading ends with end {message.end}; shaft {message.felt} is one more."
    return f"End {message.end}: shaft {message.planned} is planned, you feel shaft {message.felt}."


def rewind_question(message: RewindQuestion) -> str:
    """Return the question before checked groups are opened."""
    place = describe(message.step, "ends").split(":")[0]
    return (
        f"Going to {place} takes away {number_of(message.steps, 'confirmed step')} and opens "
        f"{number_of(message.groups, 'checked group')}. Are you sure?"
    )


def rewound(message: Rewound) -> str:
    """Return what a rewind took away."""
    taken = f"{number_of(message.steps, 'step')} taken away."
    return f"{taken} {_reopened(message.reopened)}".strip()


def returned(reopened: int) -> str:
    """Return what un-confirming one step did."""
    return f"One step taken away. {_reopened(reopened)}".strip()


def _reopened(group: int) -> str:
    return f"From group {group} on the groups will be checked anew." if group else ""


def accept_question(message: AcceptQuestion) -> str:
    """Return the question before a count that differs is let stand."""
    counted = number_counted(message.count, message.counted)
    return (
        f"Let group {message.group} stand with {counted} instead of {message.expected}? "
        "Are you sure?"
    )


def override(message: Override) -> str:
    """Return a count that was let stand."""
    reason = f" Reason: {message.reason}." if message.reason else ""
    return (
        f"Group {message.group} stands with {message.count} instead of {message.expected}.{reason}"
    )
