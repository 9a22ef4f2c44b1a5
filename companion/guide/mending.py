"""From what is known to be wrong to the ways to mend it, and a mend walked task by task."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.command import Command, Kind
from companion.guide import events as e
from companion.guide.effects import Outcome, accepted
from companion.guide.messages import Mode
from companion.guide.place import (
    felt_row,
    in_group_so_far,
    is_complete,
    is_elsewhere,
    likely_meaning,
    may_read,
    present,
    present_group,
    stretch,
    ways_to_mend,
)
from companion.guide.refuse import refused
from companion.guide.state import Base, ChosenMend, Mending, Reported, State, changed, moved
from companion.guide.terms import WhyNot
from companion.guide.touch_check import if_wrong, planned
from companion.guide.walk import end_base, go_to
from companion.job import Stage, threading_of

if TYPE_CHECKING:
    from companion.guide.mend_options import MendOption


def ask(state: State, command: Command, stage: Stage) -> Outcome:
    """Offer the cheapest mend; asked once more, the next way, and after the last the first."""
    from companion.guide.mend_options import mend_question  # noqa: PLC0415 - as in place

    number = 0
    if state.question is not None and state.question.kind is Kind.MEND:
        number = (state.question.number or 0) + 1
    offered = ways_to_mend(state, stage)
    if not offered:
        felt = threading_of(stage) if state.looking else stage
        why, known = _why_none(state, stage), likely_meaning(state, stage).diagnoses
        return refused(state, felt, why, number=known[0].first if known else 0)
    asked = replace(command, number=number % len(offered))
    after = replace(state, reading=None, question=asked)
    # What is wrong was told just before, and repeat tells it again; not which of several it is.
    causes = {option.diagnosis for option in offered if option.tasks}
    is_of_several = len(causes) > 1 and bool(offered[asked.number or 0].tasks)
    question = mend_question(stage, offered, asked.number or 0)
    return accepted(
        after, "confirm", replace(question, telling="cause" if is_of_several else "way")
    )


def _why_none(state: State, stage: Stage) -> WhyNot:
    """Return why no mend is offered: something is wrong, or may be, and it must be felt where."""
    known = likely_meaning(state, stage).diagnoses
    is_known = bool(known)
    if felt_row(state) and not is_known:
        return WhyNot.UNEXPLAINED if may_read(state, stage) else WhyNot.UNREADABLE
    if state.looking:
        why = WhyNot.NOT_FROM_HERE if is_known and known[0].is_placed else WhyNot.FEEL_FIRST
        return why if is_known else WhyNot.NOTHING_KNOWN
    if state.base is Mode.HELD:
        what_first = WhyNot.HELD if state.reading is None else WhyNot.READING
        return WhyNot.FEEL_FIRST if stage.has_shafts else what_first
    is_elsewhere = state.base is Mode.FINISHED or not stage.has_shafts
    is_there = is_elsewhere and threading_of(stage).has_shafts
    return WhyNot.PLACE_UNKNOWN if is_known or is_there else WhyNot.NOTHING_KNOWN


def begin(state: State, stage: Stage, number: int) -> Outcome:
    """Begin the mend that was agreed to: its first task, or the walk from that place anew."""
    offered = ways_to_mend(state, stage)
    option = offered[number % len(offered)]
    account = _account(state, stage, option)
    chosen, mend = e.MendChosen(account), len(state.mends)
    if option.tasks:
        kept = ChosenMend(account, option.tasks, is_elsewhere=bool(state.looking))
        still = state.felt_wrong if is_elsewhere(state, stage) else ()
        after = changed(state, mending=Mending(mend, 0), felt_wrong=still)
        after = replace(after, mends=(*after.mends, kept))
        return accepted(after, "confirm", chosen, present(after, stage))
    gone = go_to(state, stage, stage.steps[option.anew_from - 1])
    mends = (*gone.state.mends, ChosenMend(account, (), state.confirmed))
    after = replace(gone.state, mends=mends, anew=(*gone.state.anew, mend))
    return gone._replace(state=after, events=(chosen, *gone.events))


def _account(state: State, stage: Stage, option: MendOption) -> e.MendAccount:
    present = 0 if is_complete(state, stage) else present_group(state, stage).number
    is_looked = bool(state.looking)
    planned = sum(step.amount for step in stretch(state, stage))
    return e.MendAccount(
        state.looking or present,
        state.confirmed,
        state.reported.counted if is_looked else state.count,
        planned if is_looked else in_group_so_far(state, stage),
        state.reported.spare,
        felt_row(state),
        option.diagnosis,
        option.mend,
    )


def while_mending(state: State, mending: Mending, command: Command, stage: Stage) -> Outcome:
    """Answer a command that has its own meaning, or none, during a mend."""
    if command.kind is Kind.MEND and not state.looking:
        return accepted(state, "confirm", present(state, stage))
    if command.kind is Kind.BACK:
        return _back(state, mending, stage)
    if command.kind is not Kind.DONE:
        return refused(state, stage, WhyNot.MENDING)
    done = e.MendTaskDone(mending.task + 1)
    if mending.task + 1 == len(state.mends[mending.mend].tasks):
        return _finish(state, mending, done, stage)
    after = changed(state, mending=mending._replace(task=mending.task + 1))
    return accepted(after, "confirm", done, present(after, stage))


def _back(state: State, mending: Mending, stage: Stage) -> Outcome:
    """Go back to the task before; before the first one the mend is left, its reason known again."""
    if mending.task:
        after = changed(state, mending=mending._replace(task=mending.task - 1))
        return accepted(after, "confirm", e.MendTaskReopened(mending.task), present(after, stage))
    account, _, _, is_looked = state.mends[mending.mend]
    plan = planned(stage, stretch(state, stage))
    here = state.felt_wrong if is_looked else if_wrong(stage, account.felt, plan)
    known = Reported(account.spare, account.felt)
    after = changed(state, mending=None, mends_next=(), reported=known, felt_wrong=here)
    after = replace(after, looking=account.group) if is_looked else after
    return accepted(after, "confirm", e.MendLeft(), present(after, stage))


def next_of(mends: tuple[int, ...]) -> tuple[Mending | None, tuple[int, ...]]:
    """Return the first of several mends before its first task, if any, and those after it."""
    return (Mending(mends[0], 0) if mends else None), mends[1:]


def _finish(state: State, mending: Mending, done: e.MendTaskDone, stage: Stage) -> Outcome:
    """Put the mend on record, and go on to the next or ask once more for what was wrong."""
    mend = state.mends[mending.mend]
    if mend.is_elsewhere:
        following, later = next_of(state.mends_next)
        after = changed(state, mending=following, mends_next=later)
    else:
        after = moved(state, _base_after(state, stage))
    after = replace(after, made=(*after.made, mending.mend))
    made = e.MendFinished(mend.account)
    return accepted(after, "confirm", done, made, present(after, stage))


def _base_after(state: State, stage: Stage) -> Base:
    """Return what is waited for once the mend of the stretch in hand is made."""
    if is_complete(state, stage):
        return end_base(state, stage)
    return Mode.COUNTING if present_group(state, stage).expected else Mode.WALKING
