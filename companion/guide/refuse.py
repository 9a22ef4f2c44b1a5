"""Which commands fit which mode, and the refusal of those that do not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.command import Kind
from companion.guide.effects import Outcome, Say, Tone
from companion.guide.messages import Help, Mode, Refused

if TYPE_CHECKING:
    from companion.guide.state import State
    from companion.guide.terms import Refusal
    from companion.job import Stage

_ALWAYS: Final = (Kind.REPEAT, Kind.WHERE, Kind.HELP, Kind.STOP)
_FIT: Final[dict[Mode, tuple[Kind, ...]]] = {
    Mode.WALKING: (
        Kind.DONE,
        Kind.BACK,
        Kind.COUNT,
        Kind.READ_BACK,
        Kind.MISTAKE,
        Kind.REWIND,
        Kind.UNDO,
        Kind.PAUSE,
        Kind.SLOWER,
        Kind.FASTER,
    ),
    Mode.COUNTING: (Kind.COUNT, Kind.READ_BACK, Kind.BACK, Kind.REWIND, Kind.UNDO, Kind.PAUSE),
    Mode.LEFT_OVER: (
        Kind.COUNT,
        Kind.DONE,
        Kind.READ_BACK,
        Kind.BACK,
        Kind.REWIND,
        Kind.UNDO,
        Kind.PAUSE,
    ),
    Mode.HELD: (Kind.COUNT, Kind.READ_BACK, Kind.REWIND, Kind.BACK, Kind.ACCEPT, Kind.UNDO),
    Mode.MENDING: (Kind.DONE, Kind.BACK, Kind.READ_BACK, Kind.UNDO, Kind.PAUSE),
    Mode.FINISHED: (Kind.READ_BACK, Kind.BACK, Kind.REWIND, Kind.UNDO),
    Mode.READING: (Kind.DONE, Kind.BACK, Kind.COUNT, Kind.REWIND, Kind.MISTAKE, Kind.RESUME),
    Mode.PAUSED: (Kind.RESUME,),
    Mode.CONFIRMING: (Kind.YES, Kind.NO),
}


def fitting(state: State, stage: Stage) -> tuple[Kind, ...]:
    """Return the commands that fit now, the likeliest first."""
    kinds = _FIT[state.mode] + _ALWAYS
    if state.mode is Mode.COUNTING and state.options.affirm_with_done:
        return (Kind.DONE, *kinds)
    if state.mode is Mode.HELD and stage.has_shafts:
        heddles = (Kind.SPARE, Kind.LACKING) if stage.counted == "end" else ()
        return (Kind.COUNT, Kind.MEND, *kinds[1:], *heddles)
    asked = state.question if state.mode is Mode.CONFIRMING else None
    is_mend = asked is not None and asked.kind is Kind.MEND
    return (*_FIT[Mode.CONFIRMING], Kind.MEND, *_ALWAYS) if is_mend else kinds


def help_message(state: State, stage: Stage) -> Help:
    """Return the commands that fit now, as a message."""
    return Help(state.mode, fitting(state, stage), stage.item)


def refused(
    state: State, stage: Stage, why: Refusal, *, number: int = 0, limit: int = 0
) -> Outcome:
    """Return the outcome of a command that changes nothing here."""
    message = Refused(why, fitting(state, stage), number, limit, stage.item)
    return Outcome(state, (Tone("refuse"), Say(message)), is_accepted=False)
