"""How a stage opens, and how a session is taken up again: what is said before the next step."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from companion.command import Command, Kind
from companion.guide import messages as m
from companion.guide import walk
from companion.guide.effects import Effects, Outcome, Say, unchanged
from companion.guide.events import TakenOver
from companion.guide.fits import check_fits
from companion.guide.place import (
    in_group_so_far,
    is_sleyed_anew,
    present,
    present_group,
    step_call,
    unit_name,
)
from companion.guide.state import Options, State, moved
from companion.guide.terms import Message
from companion.job import Danger, Stage, Step

OF_SITTING: Final = frozenset({Kind.STOP, Kind.NEW_PLAN, Kind.WRONG_EDGE})
"""What is asked about in one sitting is not asked in the next."""


def start(stage: Stage, options: Options, first: Step | None = None) -> tuple[State, Effects]:
    """Return the state before the first step, or another, and what is said at the start.

    What stands before that other step is taken over as it is, not counted.
    """
    state = State(stage=stage.name, steps=len(stage.steps), options=options)
    opening: list[Message] = [m.Welcome(stage, options.opening)]
    if first is not None and first.number > 1:
        checked = first.group - 1
        uncounted = tuple(group.number for group in stage.groups[:checked] if group.expected)
        state = replace(state, confirmed=first.number - 1, checked=checked, affirmed=uncounted)
        begun_at = stage.number_of(stage.steps[0])
        last = stage.number_of(first) - 1 if first.first_end else first.number - 1
        opening.append(TakenOver(begun_at, last, stage.item))
    opening += _cautions(stage, options)
    if options.tell_help:
        opening.append(m.HelpHint())
    tells_cross = stage.tells_stripes and not stage.steps[0].is_floating
    if options.opening == "whole" or state.checked or tells_cross:
        opening.append(walk.group_start(state, stage))
    call = step_call(state, stage, is_full=state.confirmed > 0)
    opening.append(_without_known_unit(call, stage) if options.opening == "brief" else call)
    return state, tuple(Say(message) for message in opening)


def _cautions(stage: Stage, options: Options) -> Iterator[Message]:
    """Yield the cautions of a stage that begins: of what is known whole, one sentence."""
    is_whole, danger = not options.knows_cautions, stage.danger
    if options.cautions and (is_whole or danger is not Danger.WEAVING):
        has_own = danger is Danger.WEAVING and options.stage_cautions and not options.knows_weaving
        yield m.Cautions(is_short=not is_whole, is_weaving=has_own)
    is_told = danger is Danger.HOOKS and options.cautions and is_whole
    if options.stage_cautions and danger is not None and not is_told:
        yield m.StageCaution(danger, is_short=danger is Danger.WEAVING and options.knows_weaving)


def all_cautions(state: State, _command: Command, stage: Stage) -> Outcome:
    """Return all cautions that hold here, whole, and the place."""
    is_in_general = stage.danger is Danger.HOOKS
    danger = () if stage.danger is None or is_in_general else (Say(m.StageCaution(stage.danger)),)
    return unchanged(state, Say(m.Cautions()), *danger, Say(present(state, stage)))


def taken_up(state: State, stage: Stage, *, is_by_another: bool = False) -> tuple[State, Effects]:
    """Return a session's state as it is taken up, and what is said.

    What was only read on is still to be confirmed: the walk goes on before it, and says so.
    Another person than left it hears all that she needs to find the place, and the cautions where
    she is new. Raises JournalError where the state does not belong to this stage.
    """
    if state.asked in OF_SITTING:
        state = replace(state, question=None)
    is_new = is_by_another and not state.options.knows_cautions
    before = (Say(m.Cautions()),) if is_new and state.options.cautions else ()
    since = _ends_after(state.sure, state.confirmed, stage)
    if state.only_read:
        state = moved(state, m.Mode.WALKING, confirmed=state.sure)
    return state, before + welcome_back(state, stage, is_whole=is_by_another, read_since=since)


def welcome_back(
    state: State, stage: Stage, *, is_whole: bool = False, read_since: tuple[int, int] | None = None
) -> Effects:
    """Return what is said as a session goes on: the place, and how to find it by touch.

    Raises JournalError where the state does not belong to this stage.
    """
    check_fits(state, stage)
    if state.mode is m.Mode.FINISHED:
        return (Say(present(state, stage)),)
    group = present_group(state, stage)
    message = m.WelcomeBack(
        replace(stage, name="sley") if is_sleyed_anew(state, stage) else stage,
        group,
        state.confirmed,
        in_group_so_far(state, stage),
        is_whole,
        read_since,
        is_counting=state.mode is m.Mode.COUNTING,
        hanging=_ends_after(state.confirmed, state.threaded, stage),
    )
    return Say(message), Say(_without_known_unit(present(state, stage), stage))


def _ends_after(step: int, last: int, stage: Stage) -> tuple[int, int] | None:
    """Return the first and the last end after a step and up to another, where there are any."""
    ends = [each for each in stage.steps[step:last] if each.last_end]
    return (ends[0].first_end, ends[-1].last_end) if ends else None


def _without_known_unit(message: Message, stage: Stage) -> Message:
    """Return a callout that names a unit only where one of another name begins.

    The first one of a threading is not named either: where one begins is clear. Nor is the colour
    of the first end, where the ends already lie in their order.
    """
    if not isinstance(message, m.StepCall) or not message.named or message.named[0].at:
        return message
    number = message.step.number
    before, own = (unit_name(stage, step.unit) for step in (stage.steps[number - 2], message.step))
    is_new = number > 1 and before != own
    if is_new or (number == 1 and stage.counted == "pick"):
        return message
    first = replace(message.named[0], unit="", unit_number=1)
    if number == 1 and not first.other_colour and (stage.has_shafts or stage.work == "raddle"):
        first = replace(first, colour="")
    kept = (first,) if first.colour or first.beam else ()
    return replace(message, named=(*kept, *message.named[1:]))
