"""How much a callout gives, changed by the weaver in the middle of the walk."""

from dataclasses import replace
from typing import Final

from companion.command import Command, Kind
from companion.command.size import MOST_ENDS, Detail, StepSize
from companion.guide.effects import Keep, Outcome, Say, Tone, unchanged
from companion.guide.messages import Mode, NewPace, Welcome
from companion.guide.place import present
from companion.guide.refuse import refused
from companion.guide.state import Options, State
from companion.guide.terms import WhyNot
from companion.guide.walk import group_start
from companion.job import Stage

_SIZES: Final[dict[Kind, StepSize]] = {
    Kind.ONE_BY_ONE: StepSize("ends", 1),
    Kind.UNIT_BY_UNIT: StepSize("unit"),
    Kind.DENT_BY_DENT: StepSize("dent"),
    Kind.GROUP_BY_GROUP: StepSize("group"),
}
_DETAILS: Final[dict[Kind, Detail]] = {
    Kind.TELL_ALL: "all",
    Kind.KEEP_SHORT: "short",
    Kind.SHAFTS_ONLY: "shafts",
}


USUAL_PACE: Final = 8
"""Seconds a callout is left standing, until the weaver says otherwise. Our own choice: at 160 words
a minute the longest everyday callout takes half of it."""
SLOWEST_PACE: Final = 120
"""Seconds."""


def paced(state: State, command: Command, stage: Stage) -> Outcome:
    """Have the walk go on by itself, sooner or later, or wait for the weaver again."""
    now = state.options.pace_seconds
    wanted = {
        Kind.KEEP_GOING: command.number or now or USUAL_PACE,
        Kind.WAIT: 0,
        Kind.MORE_TIME: (now or USUAL_PACE) + 1,
        Kind.LESS_TIME: (now or USUAL_PACE) - 1,
    }[command.kind]
    if wanted > SLOWEST_PACE:
        why = WhyNot.PACE_TOO_SLOW
        return refused(state, stage, why, number=wanted, limit=SLOWEST_PACE)
    seconds = max(1, wanted) if command.kind is not Kind.WAIT else 0
    after = replace(state, options=replace(state.options, pace_seconds=seconds))
    return unchanged(after, Tone("confirm"), Say(NewPace(seconds)))


def told_otherwise(state: State, command: Command, stage: Stage) -> Outcome:
    """Tell more or less at a time from here on, and say the present callout that way.

    Before the first step "tell everything" means the stage as well.
    """
    number = command.number or 0
    if command.kind is Kind.AT_A_TIME and not 1 <= number <= MOST_ENDS:
        return refused(state, stage, WhyNot.TOO_MANY_AT_A_TIME, number=number, limit=MOST_ENDS)
    options, wish = _changed(state.options, command)
    after = replace(state, options=options)
    is_begin = command.kind is Kind.TELL_ALL and state.mode is Mode.WALKING and not state.confirmed
    whole = (Welcome(stage, "whole"), group_start(state, stage)) if is_begin else ()
    told = (Say(message) for message in (*whole, present(after, stage)))
    return unchanged(after, Tone("confirm"), wish, *told)


def _changed(options: Options, command: Command) -> tuple[Options, Keep]:
    detail = _DETAILS.get(command.kind)
    if detail is not None:
        return replace(options, detail=detail), Keep("detail", detail)
    size = _SIZES.get(command.kind) or StepSize("ends", command.number or 1)
    return replace(options, size=size), Keep("step", str(size))
