"""The threading around the place, and how far each group is: numbers for the page to draw."""

from collections.abc import Sequence
from typing import Any, Final

from companion.guide.messages import Mode
from companion.guide.place import present_group, stretch
from companion.guide.state import State
from companion.job import Stage, Step, threading_of
from companion.wording.stages import group_name

STEPS_AROUND: Final = 40
"""Steps given on either side of the present one; a page shows as many as it has room for."""
MOST_GROUPS: Final = 60
"""With more groups than this, only the present one is told of."""


def shown_stage(state: State, stage: Stage) -> Stage:
    """Return the stage whose ends are in view: the threading, where a group of it is looked at."""
    return threading_of(stage) if state.looking and state.reading is None else stage


def strip(state: State, stage: Stage, hand: Sequence[Step]) -> dict[str, Any] | None:
    """Return the ends around the place, or None for a stage that threads and sleys nothing.

    Each end is its number, its shaft, its colour ("" where none is named) and whether it is done
    (0), in hand (1), to come (2) or done and in question (3); `cuts` are the last ends of groups,
    and `edge` is the side of the lowest number, seen from the front of the loom.
    """
    confirmed, asked = state.confirmed, _asked(state, stage)
    shown = shown_stage(state, stage)
    if not shown.has_shafts:
        return None
    if shown is not stage:
        confirmed = len(shown.steps)
    around = hand or (asked if state.looking else ())
    first = around[0].number if around else confirmed + 1
    last = around[-1].number if around else confirmed
    begun, ended, edge = _way(shown, first)
    near = shown.steps[max(begun, first - 1 - STEPS_AROUND) : min(ended, last + STEPS_AROUND)]
    lasts = {group.last_step for group in shown.groups}
    return {
        "edge": edge,
        "shafts": max(max(step.shafts, default=0) for step in shown.steps),
        "ends": [
            (step.first_end + place, shaft, step.colour, standing)
            for step in near
            for standing in [_standing(step, hand, confirmed, asked)]
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


def _asked(state: State, stage: Stage) -> Sequence[Step]:
    """Return the steps that a count or a look is about."""
    is_asked = state.looking or state.base in {Mode.COUNTING, Mode.HELD}
    return stretch(state, stage) if is_asked and state.reading is None else ()


def _standing(step: Step, hand: Sequence[Step], confirmed: int, asked: Sequence[Step]) -> int:
    if step in hand:
        return 1
    if step.number > confirmed:
        return 2
    return 3 if step in asked else 0


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
