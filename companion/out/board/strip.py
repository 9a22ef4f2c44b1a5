"""The threading around the place, and how far each group is: numbers for the page to draw."""

from collections.abc import Sequence
from typing import Any, Final

from companion.guide.messages import Mode
from companion.guide.place import present_group
from companion.guide.state import State
from companion.job import Stage, Step
from companion.wording.stages import group_name

STEPS_AROUND: Final = 40
"""Steps given on either side of the present one; a page shows as many as it has room for."""
MOST_GROUPS: Final = 60
"""With more groups than this, only the present one is told of."""


def strip(state: State, stage: Stage, hand: Sequence[Step]) -> dict[str, Any] | None:
    """Return the ends around the place, or None for a stage that threads and sleys nothing.

    Each end is its number, its shaft, its colour ("" where none is named) and whether it is done
    (0), in hand (1), to come (2) or done and in question (3); `cuts` are the last ends of groups,
    and `edge` is the side of the lowest number, seen from the front of the loom.
    """
    if not stage.has_shafts:
        return None
    first = hand[0].number if hand else state.confirmed + 1
    last = hand[-1].number if hand else state.confirmed
    begun, ended, edge = _way(stage, first)
    near = stage.steps[max(begun, first - 1 - STEPS_AROUND) : min(ended, last + STEPS_AROUND)]
    asked_from = _asked_from(state, stage)
    lasts = {group.last_step for group in stage.groups}
    return {
        "edge": edge,
        "shafts": max(max(step.shafts, default=0) for step in stage.steps),
        "ends": [
            (step.first_end + place, shaft, step.colour, standing)
            for step in near
            for standing in [_standing(step.number, (first, last), state.confirmed, asked_from)]
            for place, shaft in enumerate(step.shafts)
        ],
        "cuts": [step.last_end for step in near if step.number in lasts and step.last_end],
    }


def _way(stage: Stage, number: int) -> tuple[int, int, str]:
    """Return the steps before the way to one side begins and until it ends, and where it begins."""
    dressing = stage.dressing
    back = 0
    if dressing.back_at and not dressing.thread_first:
        back = next((step.number - 1 for step in stage.steps if step.is_back), 0)
    if not back:
        return 0, len(stage.steps), dressing.first_end
    if number <= back:
        return 0, back, dressing.first_end
    return back, len(stage.steps), dressing.last_edge


def _asked_from(state: State, stage: Stage) -> int:
    """Return the first step of what is counted now; one past the confirmed where nothing is."""
    is_counted = state.base in {Mode.COUNTING, Mode.HELD} and state.reading is None
    return present_group(state, stage).first_step if is_counted else state.confirmed + 1


def _standing(number: int, hand: tuple[int, int], confirmed: int, asked_from: int) -> int:
    if hand[0] <= number <= hand[1]:
        return 1
    if number > confirmed:
        return 2
    return 3 if number >= asked_from else 0


def progress(state: State, stage: Stage) -> dict[str, Any]:
    """Return how far the walk is, in steps, and where the groups end."""
    group = present_group(state, stage)
    has_all = len(stage.groups) <= MOST_GROUPS
    return {
        "confirmed": state.confirmed,
        "total": len(stage.steps),
        "group": group.number,
        "groups": len(stage.groups),
        "name": group_name(group, stage),
        "first": group.first_step,
        "last": group.last_step,
        "ends_at": [each.last_step for each in stage.groups] if has_all else [],
        "stood": sorted({given.group for given in state.overrides}),
    }
