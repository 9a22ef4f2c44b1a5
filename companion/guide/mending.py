"""From what is known to be wrong to the ways to mend it, and a mend walked task by task."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.command import Kind
from companion.diagnosis.words import diagnosis_sentences, mend_sentence
from companion.guide import walk
from companion.guide.effects import Outcome, Say, Tone
from companion.guide.mend_messages import Mended, MendLeft
from companion.guide.mend_options import ways
from companion.guide.messages import Message, Mode
from companion.guide.place import present
from companion.guide.position import expected_so_far, found, is_complete, present_group
from companion.guide.refuse import refused
from companion.guide.state import Base, Mending, State, begin_mend, change, go_to_task
from companion.guide.terms import Refusal

if TYPE_CHECKING:
    from companion.command import Command
    from companion.job import Stage

_MOST_WORDS = 240
"""The longest account of a diagnosis or a mend on record, in characters."""


def ask(state: State, command: Command, stage: Stage) -> Outcome:
    """Offer the cheapest mend; asked once more, the next way, and after the last the first."""
    number = 0
    if state.question is not None and state.question.kind is Kind.MEND:
        number = (state.question.number or 0) + 1
    offered = ways(state, stage)
    if not offered:
        is_known = bool(found(state, stage).diagnoses)
        why = Refusal.PLACE_UNKNOWN if is_known else Refusal.NOTHING_KNOWN
        return refused(state, stage, why)
    asked = replace(command, number=number % len(offered))
    after = replace(state, reading=None, question=asked)
    return Outcome(after, (Tone("confirm"), Say(present(after, stage))), is_accepted=True)


def begin(state: State, stage: Stage, number: int) -> Outcome:
    """Begin the mend that was agreed to: its first task, or the walk from that place anew."""
    offered = ways(state, stage)
    way = offered[number % len(offered)]
    mending = Mending(
        way.tasks,
        diagnosis_sentences(way.diagnosis)[:_MOST_WORDS],
        mend_sentence(way.mend)[:_MOST_WORDS],
        state.reported,
    )
    if way.tasks:
        after = begin_mend(state, mending)
        return _said(after, present(after, stage))
    record = _record(state, stage, mending)
    gone = walk.go_to(state, stage, stage.steps[way.anew_from - 1])
    after = replace(gone.state, mended=(*state.mended, record))
    tone, *said = gone.effects
    return Outcome(after, (tone, Say(record), *said), is_accepted=True)


def while_mending(state: State, command: Command, stage: Stage) -> Outcome:
    """Answer a command that has its own meaning, or none, during a mend."""
    task, mending = state.task, state.mending
    if task is None or mending is None or command.kind not in {Kind.DONE, Kind.BACK, Kind.MEND}:
        return refused(state, stage, Refusal.MENDING)
    if command.kind is Kind.MEND:
        return _said(state, present(state, stage))
    if command.kind is Kind.BACK:
        after = go_to_task(state, task - 1 if task else None)
        return _said(after, *(() if task else (MendLeft(),)), present(after, stage))
    if task + 1 < len(mending.tasks):
        after = go_to_task(state, task + 1)
        return _said(after, present(after, stage))
    return _finish(state, stage, mending)


def _finish(state: State, stage: Stage, mending: Mending) -> Outcome:
    """Put the mend on record and ask for the count that was wrong once more."""
    record = _record(state, stage, mending)
    if is_complete(state, stage):
        base: Base = Mode.LEFT_OVER if walk.asks_left(state, stage) else Mode.FINISHED
    else:
        base = Mode.COUNTING if present_group(state, stage).expected else Mode.WALKING
    changed = change(state, base)
    after = replace(changed, mended=(*state.mended, record))
    return _said(after, record, present(after, stage))


def _record(state: State, stage: Stage, mending: Mending) -> Mended:
    group = 0 if is_complete(state, stage) else present_group(state, stage).number
    return Mended(
        group,
        state.confirmed,
        state.count,
        expected_so_far(state, stage),
        mending.reported.spare,
        mending.reported.felt,
        mending.found,
        mending.done,
    )


def _said(state: State, *messages: Message) -> Outcome:
    said = tuple(Say(message) for message in messages)
    return Outcome(state, (Tone("confirm"), *said), is_accepted=True)
