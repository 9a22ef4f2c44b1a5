"""The likeliest numbers, offered one by one to a weaver whose numbers are not heard.

After "no" at a count the counts near to the plan are offered; after "no" to doing all anew, the
shafts as they would be felt from the first end of the stretch on, until the place is known.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from companion.command import Kind
from companion.guide.choices import Choices, CommandChoice, offered
from companion.guide.messages import Mode
from companion.guide.place import expected_so_far, found, may_affirm, stretch
from companion.guide.touch_check import planned
from companion.guide.walk import LEAST_FELT

if TYPE_CHECKING:
    from companion.guide.state import State
    from companion.job import Stage

MOST_APART: Final = 4
"""How far a count is offered beside the plan. Our own choice."""
_COUNTED: Final = frozenset({Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD})


def likely_numbers(state: State, kind: Kind, stage: Stage) -> Choices | None:
    """Return what to offer after a "no", or a "done" where a number is wanted; None for nothing."""
    asked = state.question.kind if state.question is not None else None
    if kind is not Kind.NO and not (kind is Kind.DONE and _wants_number(state, stage)):
        return None
    if asked is Kind.MEND:
        return _shafts(state, stage)
    is_open = asked is None and state.mode in _COUNTED
    if asked is not Kind.COUNT and not is_open:
        return None
    number, told = expected_so_far(state, stage), state.count
    near = [number + apart for more in range(1, MOST_APART + 1) for apart in (-more, more)]
    counts = near if told is None else [told, *near]
    likely = list(dict.fromkeys(count for count in counts if count >= 0))
    # The plan's own number was told and denied; or it comes first, but not where it is not told.
    if asked is None and state.mode is not Mode.LEFT_OVER:
        likely.insert(2 if state.options.demand_counts else 0, number)
    return offered(CommandChoice(Kind.COUNT, likely=tuple(likely)))


def _wants_number(state: State, stage: Stage) -> bool:
    """Return whether a count is due that cannot be affirmed, or is to be taken once more."""
    if state.mode is Mode.HELD:
        return not state.is_explained
    return state.mode is Mode.COUNTING and not may_affirm(state, stage)


def _shafts(state: State, stage: Stage) -> Choices | None:
    """Return the shafts to be felt where that may tell the place; None where it is known."""
    count = state.count or 0
    if count < LEAST_FELT or stage.counted != "end" or state.looking or _is_placed(state, stage):
        return None
    places = planned(stage, stretch(state, stage))
    plan = tuple(place.value for place in places)
    most = max(plan, default=0)
    row = CommandChoice(Kind.COUNT, most, True, plan, longest=count, first_end=places[0].number)
    return offered(row) if plan else None


def is_enough(state: State, stage: Stage, row: tuple[int, ...]) -> bool:
    """Return whether the shafts felt so far tell the one likely place of what is wrong."""
    if len(row) < LEAST_FELT:
        return False
    felt = replace(state, reported=state.reported._replace(felt=row))
    return len(found(felt, stage).diagnoses) == 1 and _is_placed(felt, stage)


def _is_placed(state: State, stage: Stage) -> bool:
    diagnoses = found(state, stage).diagnoses
    return bool(diagnoses) and diagnoses[0].is_placed
