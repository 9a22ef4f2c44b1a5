"""How much a callout gives, changed by the weaver in the middle of the walk."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from companion.command import Command, Kind
from companion.command.size import MOST_ENDS, Detail, StepSize
from companion.guide.effects import Keep, Outcome, Say, Tone
from companion.guide.place import present
from companion.guide.refuse import refused
from companion.guide.terms import Refusal

if TYPE_CHECKING:
    from companion.guide.state import Options, State
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


def told_otherwise(state: State, command: Command, stage: Stage) -> Outcome:
    """Tell more or less at a time from here on, and say the present callout that way."""
    number = command.number or 0
    if command.kind is Kind.AT_A_TIME and not 1 <= number <= MOST_ENDS:
        return refused(state, stage, Refusal.TOO_MANY_AT_A_TIME, number=number, limit=MOST_ENDS)
    options, wish = _changed(state.options, command)
    after = replace(state, options=options)
    return Outcome(after, (Tone("confirm"), wish, Say(present(after, stage))), is_accepted=True)


def _changed(options: Options, command: Command) -> tuple[Options, Keep]:
    detail = _DETAILS.get(command.kind)
    if detail is not None:
        return replace(options, detail=detail), Keep("detail", detail)
    size = _SIZES.get(command.kind) or StepSize("ends", command.number or 1)
    return replace(options, size=size), Keep("step", str(size))
