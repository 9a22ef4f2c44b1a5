"""Where the work stands in its stage, what is known to be wrong there, and what is said there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import accumulate
from typing import TYPE_CHECKING, Final

from companion.command import Command, Kind
from companion.diagnosis.slips import Advice, Findings
from companion.guide import messages as m
from companion.guide.effects import Outcome, Tune, accepted
from companion.guide.events import Event, Paused
from companion.guide.mend_messages import LeftQuestion, MendStep, Suspected
from companion.guide.state import NOTHING, Base, State
from companion.guide.terms import Message, Way
from companion.job import Stage, Step, StepGroup, threading_of
from companion.job.contents import Section
from companion.job.handful import handful, turning

if TYPE_CHECKING:
    from companion.guide.mend_options import MendOption


def steps_of(stage: Stage, first: int, last: int) -> tuple[Step, ...]:
    """Return the steps with these numbers, inclusive."""
    return stage.steps[first - 1 : last]


def present_group(state: State, stage: Stage) -> StepGroup:
    """Return the group whose boundary is ahead; the last one when all are passed."""
    return stage.groups[min(state.checked, len(stage.groups) - 1)]


def is_sleyed_anew(state: State, stage: Stage) -> bool:
    """Return whether all ends of the present group hang in their heddles since before."""
    return present_group(state, stage).last_step <= state.threaded


def is_at_boundary(state: State, stage: Stage) -> bool:
    """Return whether every step of the present group is confirmed."""
    return state.confirmed == present_group(state, stage).last_step


def is_begun(state: State, stage: Stage) -> bool:
    """Return whether any step of the present group is confirmed."""
    return state.confirmed >= present_group(state, stage).first_step


def is_complete(state: State, stage: Stage) -> bool:
    """Return whether every boundary is passed; what is left over may still be asked for."""
    return state.checked == len(stage.groups)


def stretch(state: State, stage: Stage) -> tuple[Step, ...]:
    """Return the steps a report is about: the group so far, one looked at, or in the end all."""
    if state.looking:
        looked = threading_of(stage)
        group = looked.groups[state.looking - 1]
        last = min(group.last_step, state.confirmed) if looked is stage else group.last_step
        return steps_of(looked, group.first_step, last)
    first = 1 if is_complete(state, stage) else present_group(state, stage).first_step
    return steps_of(stage, first, state.confirmed)


def expected_so_far(state: State, stage: Stage) -> int:
    """Return the right answer to a count: what is left over, if that is asked, else so far."""
    if state.base is m.Mode.LEFT_OVER:
        return stage.left_over[len(state.left)].planned
    return in_group_so_far(state, stage)


def step_ahead(state: State, stage: Stage, number: int) -> int:
    """Return the step of the group up to which so many would be right; 0 where there is none."""
    steps = stage.steps_of(present_group(state, stage))
    sums = zip(steps, accumulate(step.amount for step in steps), strict=True)
    ahead = (at.number for at, held in sums if held == number and at.number > state.confirmed)
    return next(ahead, 0)


def in_group_so_far(state: State, stage: Stage) -> int:
    """Return what the count of the present group is when all is right."""
    group = present_group(state, stage)
    left = steps_of(stage, state.confirmed + 1, group.last_step)
    return group.expected - sum(step.amount for step in left)


def felt_row(state: State) -> tuple[int, ...]:
    """Return what was felt and is not as planned, or all there is, where a report is about."""
    return state.reported.felt if state.looking else state.felt_wrong or state.reported.felt


def is_all_there(state: State, stage: Stage, felt: tuple[int, ...], planned: int) -> bool:
    """Return whether what is felt as planned is all that was counted, so that the rest is missing.

    So many are planned. After the last dent that is felt none need be, so of dents it is not known.
    """
    counted = (threading_of(stage) if state.looking else stage).counted
    fewer = _difference(state, stage) or 0
    return counted == "end" and fewer < 0 and len(felt) == planned + fewer


def _difference(state: State, stage: Stage) -> int | None:
    """Return what was counted less what is planned, of what a report is about; None: nothing."""
    if state.looking:
        told = state.reported.counted
        return None if told is None else told - sum(step.amount for step in stretch(state, stage))
    return None if state.count is None else state.count - expected_so_far(state, stage)


def is_elsewhere(state: State, stage: Stage) -> bool:
    """Return whether the group that is looked at, if any, is another than the present one."""
    is_other = threading_of(stage) is not stage or state.looking != state.checked + 1
    return bool(state.looking) and is_other


def is_held_by_touch(state: State, stage: Stage) -> bool:
    """Return whether a group is held whose number is right, for what was felt wrong in it."""
    return state.base is m.Mode.HELD and state.count == expected_so_far(state, stage)


def likely_meaning(state: State, stage: Stage) -> Findings:
    """Return what all that is reported of the stretch in hand most likely means."""
    from companion.guide.diagnosis import findings, left_findings  # noqa: PLC0415 - what has gone wrong waits

    steps, difference = stretch(state, stage), _difference(state, stage)
    if state.looking:
        return findings(threading_of(stage), steps, difference, state.reported)
    if any(answer is not None for answer in state.left):
        return left_findings(stage, steps, state.left)
    if is_sleyed_anew(state, stage):
        return Findings((), ())  # no slip of threading: at most it is not in the reed yet
    return findings(stage, steps, difference, state.reported._replace(felt=felt_row(state)))


def suspected(state: State, stage: Stage) -> Suspected:
    """Return what all that is reported of the stretch in hand most likely means."""
    known = likely_meaning(state, stage)
    may_mend = state.mending is None and (bool(state.looking) or state.base is not m.Mode.FINISHED)
    is_here = may_read(state, stage)
    has_way = is_here or bool(ways_to_mend(state, stage))
    return Suspected(known.diagnoses, known.advice, may_mend, is_here, has_way)


def ways_to_mend(state: State, stage: Stage) -> tuple[MendOption, ...]:
    """Return the ways to mend what is known to be wrong, the cheapest first."""
    from companion.guide.mend_options import mend_options  # noqa: PLC0415 - as in likely_meaning

    return mend_options(state, stage, likely_meaning(state, stage).diagnoses)


def may_read(state: State, stage: Stage) -> bool:
    """Return whether what is reported on can be read back: it is not of a stage that is past."""
    return not state.looking or threading_of(stage) is stage


def may_affirm(state: State, stage: Stage) -> bool:
    """Return whether the count that is due may be affirmed; never where something is felt wrong."""
    is_due = state.base is m.Mode.COUNTING and is_at_boundary(state, stage)
    is_clear = state.doubted != present_group(state, stage).number and not state.felt_wrong
    return is_due and is_clear and not state.options.demand_counts


def unit_name(stage: Stage, unit: int) -> str:
    """Return what a unit is called, or ""."""
    return stage.unit_names[unit] if 0 <= unit < len(stage.unit_names) else ""


def step_call(state: State, stage: Stage, *, is_full: bool = False) -> m.StepCall:
    """Return the callout of the steps in hand; a full one names colour and unit in any case."""
    steps = in_hand(state, stage)
    before = stage.steps[state.confirmed - 1] if state.confirmed else None
    is_known = before is not None and before.group == steps[0].group and not is_full
    is_threaded = steps[-1].number <= state.threaded
    is_taken = bool(steps[0].shafts) and not is_threaded
    return m.StepCall(
        stage,
        steps,
        state.options.detail,
        named=tuple(_named(state, stage, steps, is_full=is_full)),
        is_from_cross=state.options.say_cross and stage.is_from_cross and is_taken,
        dent_before=before.dents[-1] if before and before.dents and is_known else 0,
        is_threaded=is_threaded,
    )


def _named(
    state: State, stage: Stage, steps: tuple[Step, ...], *, is_full: bool
) -> Iterator[m.Named]:
    has_units = state.options.say_unit and stage.counted in {"end", "pick"}
    by_turns = range(0)
    for at, step in enumerate(steps):
        is_first = is_full and not at
        before = stage.steps[step.number - 2] if step.number > 1 else None
        is_new = before is None or before.unit != step.unit
        if stage.counted == "pick":  # a repeat of a few picks is not worth a word each time
            is_new = is_new and unit_in_row(stage, step.unit) == 1
        unit = unit_name(stage, step.unit) if has_units and (is_new or is_first) else ""
        number = unit_in_row(stage, step.unit) if unit else 0
        named = m.Named(at, unit, number, bool(unit) and (number == 1 or is_first))
        if at not in by_turns:
            by_turns = range(at, at + turning(steps[at:]))
            other = steps[at + 1] if by_turns else None
            named = _coloured(named, stage, step, other, is_first=is_first)
        if named.unit or named.colour or named.beam:
            yield named


def _coloured(
    named: m.Named, stage: Stage, step: Step, other: Step | None, *, is_first: bool
) -> m.Named:
    """Return what is named with the colour and beam that are new, and with what takes turns."""
    last_two = stage.steps[max(0, step.number - 3) : step.number + 1]
    if other and not is_first and turning(last_two):
        return named  # they did so before
    before = stage.steps[step.number - 2] if step.number > 1 else None
    is_told_by_itself = isinstance(step.content, Section)
    is_new_colour = (step.is_new_colour or is_first) and not is_told_by_itself
    is_new_beam = is_first or before is None or before.beam != step.beam
    if other and other.colour != step.colour:
        named = replace(named, colour=step.colour, other_colour=other.colour)
    elif is_new_colour:
        named = replace(named, colour=step.colour)
    if other and other.beam != step.beam:
        return replace(named, beam=step.beam, other_beam=other.beam)
    return replace(named, beam=step.beam) if is_new_beam else named


def unit_in_row(stage: Stage, unit: int) -> int:
    """Return which one of its name in a row a unit is, from 1: each part counts its own."""
    first = unit
    while first > 0 and stage.unit_names[first - 1] == stage.unit_names[unit]:
        first -= 1
    return unit - first + 1


def count_question(state: State, stage: Stage, *, is_full: bool = False) -> m.CountQuestion:
    """Return the question for the count of the present group."""
    group = present_group(state, stage)
    is_so_far = not is_at_boundary(state, stage)
    return m.CountQuestion(stage, group, is_so_far, is_full, is_sleyed_anew(state, stage))


def hold(state: State, stage: Stage) -> m.Hold:
    """Return what is said of the count that was not right; its causes once they are due."""
    is_felt = state.reported != NOTHING or bool(state.felt_wrong)
    is_explained = state.is_explained or is_felt
    found = likely_meaning(state, stage) if is_explained else Findings(())
    told = differs(state, stage, state.count or 0)
    is_open = told.count == told.expected and Advice.CONTRADICTION in found.advice
    return m.Hold(
        **vars(told),
        is_explained=is_explained,
        diagnoses=() if is_open else found.diagnoses,
        is_felt=is_felt,
    )


def differs(state: State, stage: Stage, count: int) -> m.Differs:
    """Return what is known about a count that is not right."""
    from companion.guide.diagnosis import likely_causes  # noqa: PLC0415 - as in likely_meaning

    group, expected = present_group(state, stage), expected_so_far(state, stage)
    is_so_far = not is_at_boundary(state, stage)
    steps = steps_of(stage, group.first_step, state.confirmed)
    causes = likely_causes(stage, steps, count - expected) if count != expected else ()
    return m.Differs(stage, group, count, expected, is_so_far, causes)


def left_question(state: State, stage: Stage, *, is_full: bool = False) -> LeftQuestion:
    """Return the question for what is left over, of which there must be more to ask."""
    return LeftQuestion(stage.left_over[len(state.left)], is_full)


def finished(state: State, stage: Stage) -> m.Finished:
    """Return the closing totals."""
    return m.Finished(stage, state.overrides, state.mended, len(state.affirmed))


def _rewind_question(state: State, asked: Command, stage: Stage) -> m.RewindQuestion:
    step = stage.find(asked.number or 0) or stage.steps[0]
    steps, groups = state.confirmed - step.number + 1, state.checked - step.group + 1
    uncounted = sum(group >= step.group for group in state.affirmed)
    return m.RewindQuestion(stage, step, steps, groups, uncounted)


def catch_up_question(state: State, asked: Command, stage: Stage) -> m.CatchUpQuestion:
    """Return the question whether all steps up to one are done."""
    group, upto = present_group(state, stage), asked.number or 0
    counted = sum(step.amount for step in steps_of(stage, group.first_step, upto))
    return m.CatchUpQuestion(
        stage,
        group,
        stage.steps[upto - 1],
        counted,
        in_group_so_far(state, stage),
        upto - state.confirmed,
    )


def _mend_question(state: State, asked: Command, stage: Stage) -> Message:
    from companion.guide.mend_options import mend_question  # noqa: PLC0415 - as in likely_meaning

    return mend_question(stage, ways_to_mend(state, stage), asked.number or 0)


def _plan_question(state: State, asked: Command, stage: Stage) -> m.PlanQuestion | m.EdgeQuestion:
    last = stage.number_of(stage.steps[max(1, state.confirmed) - 1])
    if asked.kind is Kind.WRONG_EDGE:
        return m.EdgeQuestion(stage, Way(asked.text), last)
    return m.PlanQuestion(stage, asked.number or 0, last, asked.text, asked.numbers)


_QUESTIONS: Final[Mapping[Kind, Callable[[State, Command, Stage], Message]]] = {
    Kind.STOP: lambda *_: m.LeaveQuestion(),
    Kind.LOOK: lambda *_: m.WhichGroup(),
    Kind.REWIND: _rewind_question,
    Kind.DONE: catch_up_question,
    Kind.MEND: _mend_question,
    Kind.NEW_PLAN: _plan_question,
    Kind.WRONG_EDGE: _plan_question,
    Kind.COUNT: lambda state, _, stage: m.AffirmQuestion(
        stage, present_group(state, stage), expected_so_far(state, stage)
    ),
    Kind.ACCEPT: lambda state, _, stage: m.AcceptQuestion(
        stage, present_group(state, stage), state.count or 0, expected_so_far(state, stage)
    ),
}
"""Whether to do what was asked about, by the command that did."""


def read_step(state: State, stage: Stage, number: int, first: int) -> m.StepCall:
    """Return the steps of a read-back from one on; the first names its unit and colour."""
    last = min(state.reading.last if state.reading else number, _last_in_hand(state, stage, number))
    steps = stage.steps[number - 1 : last]
    named = tuple(_named(state, stage, steps, is_full=number == first))
    return m.StepCall(stage, steps, state.options.detail, named=named, is_read_back=True)


def in_hand(state: State, stage: Stage) -> tuple[Step, ...]:
    """Return the steps that the present callout tells, of which there must be any to come."""
    return stage.steps[state.confirmed : _last_in_hand(state, stage, state.confirmed + 1)]


def _last_in_hand(state: State, stage: Stage, number: int) -> int:
    return handful(stage, number, state.options.size)[1]


def present(state: State, stage: Stage) -> Message:
    """Return what the weaver is being told or asked now, in full."""
    if state.question is not None:
        return _QUESTIONS[state.question.kind](state, state.question, stage)
    if state.is_paused:
        return Paused()
    if state.reading is not None:
        return read_step(state, stage, state.reading.at, state.reading.at)
    if state.looking:
        return _looked(state, stage)
    if state.mending is not None:
        mend, task = state.mending
        tasks = state.mends[mend].tasks
        return MendStep(tasks[task], task + 1, len(tasks))
    return _OF_WORK[state.base](state, stage)


def asking(
    state: State, stage: Stage, question: Command, *came: Event | Message, tune: Tune = "confirm"
) -> Outcome:
    """Return the outcome of asking something, after what came about; a read-back ends with it."""
    after = replace(state, reading=None, question=question)
    return accepted(after, tune, *came, present(after, stage))


def _looked(state: State, stage: Stage) -> Message:
    """Return what was found in the group looked at, or what to feel there."""
    found, looked = suspected(state, stage), threading_of(stage)
    if found.diagnoses and found.diagnoses[0].is_placed:
        return found
    return m.LookQuestion(looked, looked.groups[state.looking - 1], stretch(state, stage))


_OF_WORK: Final[Mapping[Base, Callable[[State, Stage], Message]]] = {
    m.Mode.WALKING: partial(step_call, is_full=True),
    m.Mode.COUNTING: partial(count_question, is_full=True),
    m.Mode.LEFT_OVER: partial(left_question, is_full=True),
    m.Mode.HELD: hold,
    m.Mode.FINISHED: finished,
}
"""What the work itself waits for, told in full."""


def where(state: State, stage: Stage) -> m.Where:
    """Return where the walk is."""
    step = stage.steps[state.confirmed] if state.confirmed < len(stage.steps) else None
    told = (stage, present_group(state, stage), state.mode, step, state.confirmed)
    return m.Where(*told, is_threaded=is_sleyed_anew(state, stage))
