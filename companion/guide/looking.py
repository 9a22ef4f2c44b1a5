"""Looking at any group, or having it read back, at any time, without touching the work.

A mend that is found there is walked as any other, and the walk goes on where it was; only
threading anew, where the weaver chooses it, takes the walk back. Heddles that are found left over,
or missing, are reported here too.
"""

from dataclasses import replace

from companion.command import Command, Kind
from companion.guide.effects import Outcome, Say, Tone, accepted
from companion.guide.events import Counted, Event, FeltRight, FoundWrong, HeddlesReported, LookedAt
from companion.guide.messages import ReadingEnd, ReadingStart
from companion.guide.place import (
    is_all_there,
    is_elsewhere,
    is_held_by_touch,
    may_read,
    present,
    present_group,
    read_step,
    stretch,
    suspected,
)
from companion.guide.refuse import no_such_shaft, refused
from companion.guide.state import NOTHING, Reading, State, changed, without_overlays
from companion.guide.terms import Message, WhyNot
from companion.guide.touch_check import compared, if_wrong, planned
from companion.guide.walk import felt_wrong, settled
from companion.job import Stage, StepGroup, threading_of
from companion.job.handful import handful


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
    after = replace(without_overlays(state), looking=number, reported=NOTHING)
    if not planned(looked, stretch(after, stage)):  # a floating selvedge alone is not to be felt
        return refused(state, stage, WhyNot.GROUP_NOT_BEGUN, number=number)
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


def _leave(state: State, stage: Stage, *came: Event) -> Outcome:
    after = without_overlays(state)
    return accepted(after, "confirm", *came, present(after, stage))


def _feel(state: State, felt: tuple[int, ...], stage: Stage) -> Outcome:
    """Compare what is felt with the plan; where all of the group is right, go back to the place."""
    looked = threading_of(stage)
    if misheard := no_such_shaft(state, looked, felt):
        return misheard
    plan = planned(looked, stretch(state, stage))
    result = compared(looked, felt, plan)
    if not isinstance(result, FeltRight):
        return felt_wrong(_noted(state, stage, felt), result, stage)
    if is_all_there(state, stage, felt, len(plan)):
        after = replace(state, reported=state.reported._replace(felt=felt))
        return accepted(after, "trouble", result, suspected(after, stage))
    if len(felt) < len(plan):
        return accepted(state, "confirm", result)
    if is_held_by_touch(state, stage) and not is_elsewhere(state, stage):
        return settled(state, stage, result)
    return _leave(_noted(state, stage, ()), stage, result)


def _noted(state: State, stage: Stage, felt: tuple[int, ...]) -> State:
    """Return that this was felt wrong in the group, which may be the present one."""
    here = state.felt_wrong if is_elsewhere(state, stage) else felt
    return replace(state, reported=state.reported._replace(felt=felt), felt_wrong=here)


def _count(state: State, number: int, stage: Stage) -> Outcome:
    looked, group = threading_of(stage), state.looking
    steps = stretch(state, stage)
    expected = sum(step.amount for step in steps)
    if number != state.reported.counted:  # felt to be all there is by that count alone
        wrong_there = if_wrong(looked, state.reported.felt, planned(looked, steps))
        state = replace(state, reported=state.reported._replace(felt=wrong_there))
    if number == expected:
        is_so_far = looked is stage and looked.groups[group - 1].last_step > state.confirmed
        right = Counted(group, number, looked.counted, is_so_far)
        if state.reported.felt:
            return accepted(state, "trouble", right, suspected(state, stage))
        after = _now_counted(state, stage)
        return accepted(after, "confirm", right, present(after, stage))
    after = replace(state, reported=state.reported._replace(counted=number))
    wrong = FoundWrong(group, number, expected, looked.counted)
    means = suspected(after, stage)  # more dents than planned hold ends: no slip explains that
    is_told = means.diagnoses or means.advice
    return accepted(after, "trouble", wrong, means if is_told else present(after, stage))


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


def read_back(state: State, command: Command, stage: Stage) -> Outcome:
    """Begin to read back the present group, a group by number, or from an end on."""
    if command.number is None:
        return _read_present(state, stage)
    if command.is_end:
        return _read_from_end(state, stage, command.number)
    if not 1 <= command.number <= len(stage.groups):
        why, limit = WhyNot.NO_SUCH_GROUP, len(stage.groups)
        return refused(state, stage, why, number=command.number, limit=limit)
    return _read_group(state, stage, stage.groups[command.number - 1])


def _read_present(state: State, stage: Stage) -> Outcome:
    """Read what is confirmed of the present group, or else the group before it."""
    if not may_read(state, stage):  # but felt
        return Outcome(state, (Tone("refuse"), Say(present(state, stage))), is_accepted=False)
    if state.looking:
        return _read_group(state, stage, stage.groups[state.looking - 1])
    if state.confirmed == 0:
        return refused(state, stage, WhyNot.NOTHING_CONFIRMED)
    group = present_group(state, stage)
    if state.confirmed < group.first_step:
        return _read_group(state, stage, stage.groups[group.number - 2])
    return _read_group(state, stage, group, min(state.confirmed, group.last_step))


def _read_group(state: State, stage: Stage, group: StepGroup, last: int = 0) -> Outcome:
    """Read a group from its first step, as far as `last` where that is given."""
    number = stage.number_of(stage.steps[group.first_step - 1])
    is_ahead = group.first_step > state.confirmed
    start = ReadingStart(stage.item, number, group, is_ahead=is_ahead)
    return _begin(state, stage, start, (group.first_step, last or group.last_step))


def _read_from_end(state: State, stage: Stage, end: int) -> Outcome:
    """Read from an end to the last confirmed step, or to the end of its group where it is ahead."""
    step = stage.find(end)
    if step is None:
        limit = stage.last_number
        return refused(state, stage, WhyNot.NO_SUCH_END, number=end, limit=limit)
    is_ahead = step.number > state.confirmed
    last = stage.groups[step.group - 1].last_step if is_ahead else state.confirmed
    start = ReadingStart(stage.item, end, is_ahead=is_ahead)
    return _begin(state, stage, start, (step.number, last))


def _begin(state: State, stage: Stage, start: ReadingStart, span: tuple[int, int]) -> Outcome:
    first, last = span
    after = replace(state, reading=Reading(first, last, first))
    return accepted(after, "confirm", start, read_step(after, stage, first, first))


def read_on(state: State, reading: Reading, stage: Stage, at: int, *before: Message) -> Outcome:
    """Read the step with this number, or close the reading where it is past the last."""
    if at > reading.last:
        after = replace(state, reading=None)
        return accepted(after, "confirm", *before, ReadingEnd(), present(after, stage))
    after = replace(state, reading=reading._replace(at=at))
    return accepted(after, "confirm", *before, read_step(after, stage, at, reading.first))


def while_reading(state: State, reading: Reading, command: Command, stage: Stage) -> Outcome:
    """Answer a command that has its own meaning during a read-back."""
    if command.kind is Kind.DONE:
        _, last = handful(stage, reading.at, state.options.size)
        return read_on(state, reading, stage, last + 1)
    if command.kind is Kind.BACK:
        before, _ = handful(stage, max(1, reading.at - 1), state.options.size)
        return read_on(state, reading, stage, max(reading.first, before))
    if command.kind is Kind.RESUME:
        return read_on(state, reading, stage, reading.last + 1)
    return _compare(state, reading, command, stage)


def _compare(state: State, reading: Reading, command: Command, stage: Stage) -> Outcome:
    """Compare the shafts the weaver feels with the plan from the present step on."""
    felt = command.numbers or (() if command.number is None else (command.number,))
    plan = planned(stage, stage.steps[reading.at - 1 : reading.last])
    if not plan:
        why = WhyNot.NO_SHAFTS if stage.has_shafts else WhyNot.READING
        return refused(state, stage, why)
    if misheard := no_such_shaft(state, stage, felt):
        return misheard
    found = compared(stage, felt, plan)
    after_found = [end.step for end in plan if end.number > found.last_end]
    if isinstance(found, FeltRight):
        at = after_found[0] if after_found else reading.last + 1
        return read_on(state, reading, stage, at, found)
    wrong = next(end.step for end in plan if end.number == found.last_end)
    after = replace(state, reading=reading._replace(at=wrong))
    return accepted(after, "trouble", found)
