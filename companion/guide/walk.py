"""Confirming steps, un-confirming them, and counting at the boundaries."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from companion.command import Command, Kind
from companion.guide import events as e
from companion.guide.effects import Outcome, Tune, accepted
from companion.guide.messages import GroupEnd, GroupStart, Hold, KnotReminder, Mode
from companion.guide.place import (
    asking,
    count_question,
    differs,
    expected_so_far,
    finished,
    in_hand,
    is_all_there,
    is_at_boundary,
    is_begun,
    is_held_by_touch,
    left_question,
    may_affirm,
    present,
    present_group,
    step_ahead,
    step_call,
    stretch,
    suspected,
)
from companion.guide.refuse import no_such_shaft, refused
from companion.guide.state import Base, State, done_anew, moved
from companion.guide.terms import Message, WhyNot
from companion.guide.touch_check import compared, planned, still_wrong
from companion.job import Stage, Step
from companion.job.handful import handful


def done(state: State, _command: Command, stage: Stage) -> Outcome:
    """Confirm the present step; at a boundary, ask whether the group holds what is planned."""
    if state.base is Mode.WALKING:
        return _confirm(state, stage)
    if state.base is Mode.LEFT_OVER:
        return _left(state, stage, None)
    if may_affirm(state, stage):
        return asking(state, stage, Command(Kind.COUNT, expected_so_far(state, stage)))
    if is_held_by_touch(state, stage):
        return accepted(state, "trouble", present(state, stage))
    if state.felt_wrong and state.base is Mode.COUNTING:
        return accepted(state, "trouble", suspected(state, stage))
    return refused(state, stage, _NOT_DONE[state.base])


def affirm(state: State, stage: Stage) -> Outcome:
    """Pass the boundary on the weaver's word that the group holds what is planned."""
    group = present_group(state, stage)
    came = e.Affirmed(group.number, group.expected, stage.counted)
    return _pass_boundary(state, stage, *_now_sure(state), came, is_affirmed=True)


def read_on(state: State, stage: Stage) -> Outcome | None:
    """Read on by the pace; None where a press, a word or a count must come first."""
    if state.mode is not Mode.WALKING:
        return None
    last = in_hand(state, stage)[-1].number
    group = present_group(state, stage)
    is_end = last == group.last_step
    if is_end and not (state.options.ask_counts and group.expected):
        return None
    base: Base = Mode.COUNTING if is_end else Mode.WALKING
    after = moved(state, base, confirmed=last, only_read=last - state.sure)
    came = e.ReadOn(state.confirmed + 1, last)
    if is_end:
        return accepted(after, "boundary", came, count_question(after, stage))
    return accepted(after, "confirm", came, step_call(after, stage))


def _now_sure(state: State) -> tuple[e.Event, ...]:
    """Return that what was only read on is confirmed now, where there is any."""
    return (e.Confirmed(state.sure + 1, state.confirmed),) if state.only_read else ()


def _upto(state: State, confirmed: int) -> tuple[e.Event, ...]:
    """Return that all steps up to one are confirmed, and the mends that this completes."""
    made = (e.MendFinished(state.mends[one].account) for one in done_anew(state, confirmed))
    return (e.Confirmed(state.sure + 1, confirmed), *made)


def _confirm(state: State, stage: Stage) -> Outcome:
    confirmed = in_hand(state, stage)[-1].number
    came = _upto(state, confirmed)
    group = present_group(state, stage)
    if confirmed < group.last_step:
        after = moved(state, Mode.WALKING, confirmed=confirmed, only_read=0)
        cross = _at_cross(after, stage)
        return accepted(after, "confirm", *came, *cross, step_call(after, stage))
    if (state.options.ask_counts or state.felt_wrong) and group.expected:
        after = moved(state, Mode.COUNTING, confirmed=confirmed, only_read=0)
        return accepted(after, "boundary", *came, count_question(after, stage))
    end = GroupEnd(stage, group)
    return _pass_boundary(state, stage, *came, end, confirmed=confirmed)


def _at_cross(state: State, stage: Stage) -> tuple[Message, ...]:
    """Return the order at the cross where a floating selvedge came before the first end."""
    before, following = stage.steps[state.confirmed - 1 : state.confirmed + 1]
    is_first = before.is_floating and following.first_end == 1
    is_told = state.options.opening == "whole"  # which begins with the group
    tells = stage.tells_stripes and is_first and not is_told
    return (group_start(state, stage),) if tells else ()


def back(state: State, _command: Command, stage: Stage) -> Outcome:
    """Un-confirm the steps told last; a group closed before them opens again."""
    if state.confirmed == 0:
        return refused(state, stage, WhyNot.NOTHING_CONFIRMED)
    first, _ = handful(stage, state.confirmed, state.options.size)
    return go_to(state, stage, stage.steps[first - 1])


def count(state: State, command: Command, stage: Stage) -> Outcome:
    """Compare a count with the plan: go on, or hold.

    A bare row of numbers is not a count but the shafts of the group, from its first end on. Where
    nothing is done yet a count is asked about or refused, so that one heard twice does no harm.
    """
    if state.base is Mode.FINISHED:
        return refused(state, stage, WhyNot.FINISHED)
    is_left = state.base is Mode.LEFT_OVER
    least = LEAST_FELT if state.base in {Mode.COUNTING, Mode.HELD} else _LEAST_WALKING
    is_row = len(command.numbers) >= (least if command.number is not None else _LEAST_WALKING)
    if stage.has_shafts and not is_left and is_row:
        return _feel(state, command, stage)
    if command.number is None:
        return refused(state, stage, WhyNot.ONE_NUMBER)
    if is_left:
        return _left(state, stage, command.number)
    why = _uncountable(state, stage)
    ahead = step_ahead(state, stage, command.number) if why is WhyNot.NOTHING_IN_GROUP else 0
    if ahead and not stage.only_warns:
        return asking(state, stage, Command(Kind.DONE, ahead))
    return refused(state, stage, why) if why else _compare(state, stage, command.number)


def _compare(state: State, stage: Stage, number: int) -> Outcome:
    if number != expected_so_far(state, stage):
        ahead = step_ahead(state, stage, number)
        if state.base is Mode.WALKING and ahead and not stage.only_warns:
            return asking(state, stage, Command(Kind.DONE, ahead))
        return wrong(state, stage, number)
    group, is_end = present_group(state, stage).number, is_at_boundary(state, stage)
    came = (*_now_sure(state), e.Counted(group, number, stage.counted, is_so_far=not is_end))
    if is_end:
        return _pass_boundary(state, stage, *came)
    return _go_on(state, stage, "confirm", *came)


def catch_up(state: State, stage: Stage, upto: int) -> Outcome:
    """Confirm the steps up to one that were done and not confirmed, as a count has shown."""
    group = present_group(state, stage)
    is_end = upto == group.last_step
    after = moved(state, Mode.WALKING, confirmed=upto, only_read=0)
    number = group.expected if is_end else expected_so_far(after, stage)
    counted = e.Counted(group.number, number, stage.counted, is_so_far=not is_end)
    came = (*_upto(state, upto), counted)
    if is_end:
        return _pass_boundary(state, stage, *came, confirmed=upto)
    return accepted(after, "confirm", *came, step_call(after, stage, is_full=True))


def wrong(state: State, stage: Stage, number: int) -> Outcome:
    """Hold the walk on a wrong count, or where that only warns let it stand and go on."""
    group, expected = present_group(state, stage).number, expected_so_far(state, stage)
    is_so_far = not is_at_boundary(state, stage)
    came = e.FoundWrong(group, number, expected, stage.counted, is_so_far)
    if not stage.only_warns:
        is_explained = number == state.count
        held = moved(state, Mode.HELD, count=number, doubted=group, is_explained=is_explained)
        felt = state.reported.felt if number == state.count else ()
        after = replace(held, reported=state.reported._replace(felt=felt))
        return accepted(after, "trouble", came, present(after, stage))
    warning = differs(state, stage, number)
    if is_so_far:
        return _go_on(state, stage, "trouble", came, warning)
    override = e.Overridden(group, state.confirmed, number, expected)
    return _pass_boundary(state, stage, came, warning, added=override, tune="trouble")


def _go_on(state: State, stage: Stage, tune: Tune, *what: e.Event | Message) -> Outcome:
    """Say something about the group so far, and take up the present step."""
    is_kept = state.base is Mode.WALKING and not state.only_read
    after = state if is_kept else moved(state, Mode.WALKING, only_read=0)
    return accepted(after, tune, *what, step_call(after, stage, is_full=True))


def _uncountable(state: State, stage: Stage) -> WhyNot | None:
    """Return why nothing can be counted in the present group, or None."""
    group = present_group(state, stage)
    if not group.expected:
        return WhyNot.NOTHING_TO_COUNT
    return None if is_begun(state, stage) else WhyNot.NOTHING_IN_GROUP


def _feel(state: State, command: Command, stage: Stage) -> Outcome:
    """Compare what the weaver feels with the group's plan, from its first end or dent on."""
    plan = planned(stage, stretch(state, stage))
    if not plan:
        return refused(state, stage, WhyNot.NOTHING_IN_GROUP)
    if misheard := no_such_shaft(state, stage, command.numbers):
        return misheard
    result = compared(stage, command.numbers, plan)
    if isinstance(result, e.FeltWrong) and result.is_beyond:  # hands may be ahead of the words
        rest = stage.steps[state.confirmed : present_group(state, stage).last_step]
        ahead = compared(stage, command.numbers, [*plan, *planned(stage, rest)])
        result = ahead if isinstance(ahead, e.FeltRight) else result
    if isinstance(result, e.FeltRight):
        return _felt_right(state, command.numbers, result, stage)
    return felt_wrong(replace(state, felt_wrong=command.numbers), result, stage)


def _felt_right(state: State, felt: tuple[int, ...], right: e.FeltRight, stage: Stage) -> Outcome:
    """Go on after what is felt as planned; where no more was counted, tell what is missing."""
    plan = planned(stage, stretch(state, stage))
    is_all = is_all_there(state, stage, felt, len(plan))
    after = replace(state, reported=state.reported._replace(felt=felt if is_all else ()))
    if right.last_end >= compared(stage, state.felt_wrong, plan).last_end:
        after = replace(after, felt_wrong=())
    if is_all:
        return accepted(after, "trouble", right, suspected(after, stage))
    if not after.felt_wrong and is_held_by_touch(state, stage):
        return settled(state, stage, right)
    upto = stage.find(right.last_end)
    if state.base is Mode.WALKING and upto and upto.number > state.confirmed:
        return asking(after, stage, Command(Kind.DONE, upto.number), right)
    return accepted(after, "confirm", right, present(after, stage))


def settled(state: State, stage: Stage, right: e.FeltRight) -> Outcome:
    """Close a group whose number is right, now that what was felt wrong there is felt right."""
    return _pass_boundary(state, stage, right, is_settled=True)


def felt_wrong(state: State, wrong: e.FeltWrong, stage: Stage) -> Outcome:
    """Tell what is felt wrong: what it most likely means, else where it leaves the plan as well."""
    means = suspected(state, stage)
    is_found = bool(means.diagnoses) and means.diagnoses[0].is_placed and not wrong.is_beyond
    said, unsaid = ((), (wrong,)) if is_found else ((wrong,), ())
    return accepted(state, "trouble", *said, means, unsaid=unsaid)


def mistake(state: State, _command: Command, stage: Stage) -> Outcome:
    """Hold the walk and ask for the count so far, or tell what a wrong count most likely means."""
    if state.base is Mode.FINISHED:
        return refused(state, stage, WhyNot.FINISHED)
    reported = e.MistakeReported(present_group(state, stage).number)
    if state.base is Mode.HELD:
        state = replace(state, is_explained=True)
    if state.base is not Mode.WALKING:
        now = present(state, stage)
        now = replace(now, telling="causes") if isinstance(now, Hold) else now
        return accepted(state, "trouble", reported, now)
    why = _uncountable(state, stage)
    if why:
        return refused(state, stage, why)
    after = moved(state, Mode.COUNTING)
    return accepted(after, "trouble", reported, count_question(after, stage))


def accept(state: State, stage: Stage, reason: str) -> Outcome:
    """Let the count stand that was not right, and record it."""
    group = present_group(state, stage)
    override = e.Overridden(
        group.number,
        state.confirmed,
        state.count or 0,
        expected_so_far(state, stage),
        reason,
        felt=state.felt_wrong,
    )
    came = (*_now_sure(state), override)
    if is_at_boundary(state, stage):
        return _pass_boundary(state, stage, *came, added=override)
    after = moved(state, Mode.WALKING, added=override, only_read=0, felt_wrong=())
    return accepted(after, "confirm", *came, step_call(after, stage, is_full=True))


def go_to(state: State, stage: Stage, step: Step) -> Outcome:
    """Un-confirm every step from this one on; a group closed at or after it opens again."""
    checked = min(state.checked, step.group - 1)
    gone = moved(state, Mode.WALKING, confirmed=step.number - 1, checked=checked)
    there = planned(stage, stretch(gone, stage))
    after = replace(gone, felt_wrong=still_wrong(stage, gone.felt_wrong, there))
    reopened = step.group if checked < state.checked else 0
    is_counted = reopened not in state.affirmed
    taken = e.TakenBack(step.number, state.confirmed, reopened, is_counted)
    return accepted(after, "confirm", taken, step_call(after, stage, is_full=True))


def _pass_boundary(
    state: State,
    stage: Stage,
    *closing: e.Event | Message,
    confirmed: int | None = None,
    added: e.Overridden | None = None,
    tune: Tune | None = None,
    is_affirmed: bool = False,
    is_settled: bool = False,
) -> Outcome:
    """Close the present group and begin the one after, ask what is left over, or finish.

    What was felt wrong there holds it, unless it is let stand or settled: no number sees that.
    """
    if state.felt_wrong and added is None and not is_settled:
        return _hold_felt(state, stage, *closing, confirmed=confirmed)
    checked = state.checked + 1
    is_last = checked == len(stage.groups)
    base = end_base(state, stage) if is_last else Mode.WALKING
    affirmed = (*state.affirmed, *([checked] if is_affirmed else []))
    after = moved(
        state,
        base,
        confirmed=confirmed,
        checked=checked,
        added=added,
        only_read=0,
        affirmed=affirmed,
    )
    unsaid = () if added is None or added in closing else (added,)
    usual: Tune = "boundary" if state.base is Mode.WALKING or is_last else "confirm"
    usual = "finish" if base is Mode.FINISHED else usual
    has_knot = state.options.say_knot and stage.counted == "end" and stage.has_shafts
    knot = (KnotReminder(checked),) if has_knot else ()
    came = (*closing, *knot, e.GroupClosed(checked))
    return accepted(after, tune or usual, *came, *_next(after, stage), unsaid=unsaid)


def _hold_felt(
    state: State, stage: Stage, *closing: e.Event | Message, confirmed: int | None
) -> Outcome:
    """Hold a group whose number is right, and in which something was felt wrong."""
    count = present_group(state, stage).expected
    after = moved(
        state, Mode.HELD, confirmed=confirmed, count=count, only_read=0, is_explained=True
    )
    told = [each for each in closing if not isinstance(each, e.Counted)]
    unsaid = tuple(each for each in closing if isinstance(each, e.Counted))
    return accepted(after, "trouble", *told, present(after, stage), unsaid=unsaid)


def _next(state: State, stage: Stage) -> Iterator[e.Event | Message]:
    if state.base is Mode.LEFT_OVER:
        yield left_question(state, stage)
    elif state.base is Mode.FINISHED:
        yield e.StageFinished(stage.name)
        yield finished(state, stage)
    else:
        if state.options.detail != "shafts":
            yield group_start(state, stage)
        yield step_call(state, stage)


def end_base(state: State, stage: Stage) -> Base:
    """Return what is waited for once every group is closed: what is left over, or nothing."""
    options = state.options
    is_asked = options.ask_counts and options.ask_left and stage.left_over
    return Mode.LEFT_OVER if is_asked else Mode.FINISHED


def _left(state: State, stage: Stage, answer: int | None) -> Outcome:
    """Take how many are left over, or None for as planned, and ask for the next or finish."""
    item, left = stage.left_over[len(state.left)], (*state.left, answer)
    added = None
    if answer is not None and answer != item.planned:
        group = present_group(state, stage).number
        added = e.Overridden(group, state.confirmed, answer, item.planned, left=item)
    base: Base = Mode.FINISHED if len(left) == len(stage.left_over) else Mode.LEFT_OVER
    after = moved(state, base, added=added, left=left)
    came = (e.LeftCounted(item, answer), *([added] if added else []))
    if base is Mode.LEFT_OVER:
        return accepted(after, "trouble" if added else "confirm", *came, *_next(after, stage))
    doubt = suspected(after, stage)
    said = [doubt] if doubt.diagnoses or doubt.advice else []
    return accepted(after, "finish", *came, *said, *_next(after, stage))


def group_start(state: State, stage: Stage) -> GroupStart:
    """Return the opening of the present group."""
    return GroupStart(stage, present_group(state, stage))


_NOT_DONE: Final = {
    Mode.COUNTING: WhyNot.COUNT_WANTED,
    Mode.HELD: WhyNot.HELD,
    Mode.FINISHED: WhyNot.FINISHED,
}

LEAST_FELT: Final = 4
"""From how many numbers on a row is taken as shafts where a count is due: up to three may be its
digits, where they are said; typed apart they are shafts."""
_LEAST_WALKING: Final = 2
