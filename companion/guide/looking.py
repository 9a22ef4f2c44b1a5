"""Looking at any group, at any time: what is felt or counted there, and the way back to the place.

Nothing of the work is taken away by it. A mend that is found there is walked as any other, and the
walk goes on where it was; only threading anew, where the weaver chooses it, takes the walk back.
Heddles that are found left over, or missing, are reported here too.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.command import Command, Kind
from companion.guide.effects import Outcome, accepted
from companion.guide.events import Counted, FeltRight, FoundWrong, HeddlesReported, LookedAt
from companion.guide.place import present, stretch
from companion.guide.refuse import refused
from companion.guide.state import NOTHING, State, changed, without_overlays
from companion.guide.terms import WhyNot
from companion.guide.touch_check import compared, planned
from companion.guide.walk import suspected
from companion.job import threading_of

if TYPE_CHECKING:
    from companion.job import Stage


def look(state: State, command: Command, stage: Stage) -> Outcome:
    """Look at a group by its number, or ask for that first."""
    looked, number = threading_of(stage), command.number
    if not looked.has_shafts:
        return refused(state, stage, WhyNot.NOTHING_THREADED)
    if number is None:
        asked = replace(without_overlays(state), question=Command(Kind.LOOK))
        return accepted(asked, "confirm", present(asked, stage))
    if not 1 <= number <= len(looked.groups):
        limit = len(looked.groups)
        return refused(state, stage, WhyNot.NO_SUCH_GROUP, number=number, limit=limit)
    if looked is stage and looked.groups[number - 1].first_step > state.confirmed:
        return refused(state, stage, WhyNot.GROUP_NOT_BEGUN, number=number)
    after = replace(without_overlays(state), looking=number, reported=NOTHING)
    return accepted(after, "confirm", LookedAt(number), present(after, stage))


def while_looking(state: State, command: Command, stage: Stage) -> Outcome:
    """Answer a command that has its own meaning while a group is looked at."""
    if command.kind is not Kind.COUNT:
        return _leave(state, stage)
    if len(command.numbers) > 1:
        return _feel(state, command.numbers, stage)
    if command.number is None:
        return refused(state, stage, WhyNot.ONE_NUMBER)
    return _count(state, command.number, stage)


def _leave(state: State, stage: Stage) -> Outcome:
    after = replace(without_overlays(state), reported=NOTHING)
    return accepted(after, "confirm", present(after, stage))


def _feel(state: State, felt: tuple[int, ...], stage: Stage) -> Outcome:
    """Compare what is felt with the plan; where all of the group is right, go back to the place."""
    looked = threading_of(stage)
    plan = planned(looked, stretch(state, stage))
    result = compared(looked, felt, plan)
    if not isinstance(result, FeltRight):
        after = replace(state, reported=state.reported._replace(felt=felt))
        return accepted(after, "trouble", result, suspected(after, stage))
    if len(felt) < len(plan):
        return accepted(state, "confirm", result)
    after = replace(without_overlays(state), reported=NOTHING)
    return accepted(after, "confirm", result, present(after, stage))


def _count(state: State, number: int, stage: Stage) -> Outcome:
    looked, group = threading_of(stage), state.looking
    expected = sum(step.amount for step in stretch(state, stage))
    if number == expected:
        after = replace(_now_counted(state, stage), reported=NOTHING)
        is_so_far = looked is stage and looked.groups[group - 1].last_step > state.confirmed
        right = Counted(group, number, looked.counted, is_so_far)
        return accepted(after, "confirm", right, present(after, stage))
    after = replace(state, reported=state.reported._replace(counted=number))
    wrong = FoundWrong(group, number, expected, looked.counted)
    return accepted(after, "trouble", wrong, suspected(after, stage))


def _now_counted(state: State, stage: Stage) -> State:
    """Return the state back at its place; a group that had not been counted is so now."""
    if threading_of(stage) is not stage or state.looking not in state.affirmed:
        return without_overlays(state)
    affirmed = tuple(group for group in state.affirmed if group != state.looking)
    return changed(state, affirmed=affirmed)


def heddle(state: State, command: Command, stage: Stage) -> Outcome:
    """Take one heddle more, or fewer, on a shaft than planned; reports add up or cancel out."""
    shaft = command.number or 0
    steps = stretch(state, stage)
    if stage.counted != "end" or not stage.has_shafts:
        return refused(state, stage, WhyNot.NO_HEDDLES)
    if not planned(stage, steps):
        return refused(state, stage, WhyNot.NOTHING_IN_GROUP)
    from companion.guide.diagnosis import planned_ends  # noqa: PLC0415 - as in place

    shafts = planned_ends(stage, steps).all_shafts
    if shaft not in shafts:
        return refused(state, stage, WhyNot.NO_SUCH_SHAFT, number=shaft, limit=max(shafts))
    spare = dict(state.reported.spare)
    spare[shaft] = spare.get(shaft, 0) + (1 if command.kind is Kind.SPARE else -1)
    told = tuple(sorted((shaft, number) for shaft, number in spare.items() if number))
    after = replace(state, reported=state.reported._replace(spare=told))
    return accepted(after, "confirm", HeddlesReported(told), suspected(after, stage))
