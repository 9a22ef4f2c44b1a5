"""Which commands fit which mode, and the refusal of those that do not."""

from typing import Final

from companion.command import Kind
from companion.guide.effects import Outcome, Say, Tone
from companion.guide.mend_messages import MendQuestion
from companion.guide.messages import Mode, Refused
from companion.guide.place import may_affirm, present, present_group
from companion.guide.state import State
from companion.guide.terms import MENDED, Way, WhyNot
from companion.job import Stage

_COUNTED: Final = (Kind.READ_BACK, Kind.BACK, Kind.REWIND, Kind.UNDO, Kind.PAUSE)
_ALWAYS: Final = (Kind.REPEAT, Kind.WHERE, Kind.HELP, Kind.STOP)
_FIT: Final[dict[Mode, tuple[Kind, ...]]] = {
    Mode.WALKING: (
        Kind.DONE,
        Kind.BACK,
        Kind.COUNT,
        Kind.READ_BACK,
        Kind.MISTAKE,
        Kind.LOOK,
        Kind.REWIND,
        Kind.UNDO,
        Kind.PAUSE,
        Kind.SLOWER,
        Kind.FASTER,
    ),
    Mode.COUNTING: (Kind.COUNT, *_COUNTED),
    Mode.LEFT_OVER: (Kind.COUNT, Kind.DONE, *_COUNTED),
    Mode.HELD: (
        Kind.COUNT,
        Kind.MISTAKE,
        Kind.ACCEPT,
        Kind.READ_BACK,
        Kind.REWIND,
        Kind.BACK,
        Kind.UNDO,
    ),
    Mode.MENDING: (Kind.DONE, Kind.BACK, Kind.READ_BACK, Kind.UNDO, Kind.PAUSE),
    Mode.FINISHED: (Kind.READ_BACK, Kind.LOOK, Kind.BACK, Kind.REWIND, Kind.UNDO),
    Mode.LOOKING: (Kind.COUNT, Kind.MEND, Kind.READ_BACK, Kind.DONE, Kind.LOOK),
    Mode.READING: (Kind.DONE, Kind.BACK, Kind.COUNT, Kind.REWIND, Kind.MISTAKE, Kind.RESUME),
    Mode.PAUSED: (Kind.RESUME,),
    Mode.CONFIRMING: (Kind.YES, Kind.NO),
}
TELLING: Final = (
    Kind.ONE_BY_ONE,
    Kind.AT_A_TIME,
    Kind.UNIT_BY_UNIT,
    Kind.DENT_BY_DENT,
    Kind.GROUP_BY_GROUP,
    Kind.TELL_ALL,
    Kind.KEEP_SHORT,
    Kind.SHAFTS_ONLY,
)
"""What changes how much is told at a time."""
_LIKELY: Final = (Kind.DONE, Kind.BACK, Kind.REPEAT, Kind.COUNT, Kind.MISTAKE, Kind.WHERE)
"""What is chosen most during the walk; the first of the choices."""


def fitting(state: State, stage: Stage) -> tuple[Kind, ...]:
    """Return the commands that fit now, the likeliest first."""
    kinds = _FIT[state.mode] + _ALWAYS
    if state.mode is Mode.WALKING and not present_group(state, stage).expected:
        kinds = tuple(kind for kind in kinds if kind not in {Kind.COUNT, Kind.MISTAKE})
    if state.felt_wrong and state.mode in {Mode.WALKING, Mode.COUNTING}:
        return (kinds[0], Kind.MEND, *kinds[1:])
    if state.mode is Mode.COUNTING and may_affirm(state, stage):
        return (kinds[0], Kind.DONE, *kinds[1:])
    if state.mode is Mode.HELD and stage.has_shafts:
        heddles = (Kind.SPARE, Kind.LACKING) if stage.counted == "end" else ()
        return (Kind.COUNT, Kind.MEND, *kinds[1:], *heddles)
    if state.asked is Kind.LOOK:
        return (Kind.COUNT, Kind.NO, *_ALWAYS)
    if state.asked is Kind.COUNT:
        return (Kind.DONE, *_FIT[Mode.CONFIRMING], Kind.COUNT, *_ALWAYS)
    other = _other_way(state, stage)
    return (*_FIT[Mode.CONFIRMING], other, *_ALWAYS) if other else kinds


def _other_way(state: State, stage: Stage) -> Kind | None:
    """Return the command that asks for another way at a question, if it has another."""
    question = state.question
    if question is None:
        return None
    if question.kind is Kind.MEND:
        now = present(state, stage)
        return Kind.MEND if isinstance(now, MendQuestion) and now.others else None
    if (question.kind, question.text) == (Kind.NEW_PLAN, MENDED):
        return Kind.MEND
    has_edge = question.kind is Kind.WRONG_EDGE and question.text != Way.ANEW
    return Kind.WRONG_EDGE if has_edge else None


def choosable(state: State, stage: Stage) -> tuple[Kind, ...]:
    """Return the commands that a single switch may choose from, the likeliest first."""
    fits = fitting(state, stage)
    if state.mode is Mode.WALKING:
        extra = (Kind.KEEP_GOING, Kind.WAIT, *TELLING, Kind.CAUTIONS)
        return (*(kind for kind in _LIKELY if kind in fits), *fits, *extra)
    return fits


def no_such_shaft(state: State, stage: Stage, felt: tuple[int, ...]) -> Outcome | None:
    """Return that a shaft which is felt is not on the loom, so that it was misheard; else None."""
    shaft, last = max(felt, default=0), len(stage.dressing.heddles)
    if stage.counted == "dent" or shaft <= last:
        return None
    return refused(state, stage, WhyNot.NO_SUCH_SHAFT, number=shaft, limit=last)


def refused(state: State, stage: Stage, why: WhyNot, *, number: int = 0, limit: int = 0) -> Outcome:
    """Return the outcome of a command that changes nothing here."""
    item = stage.counted if why is WhyNot.FEEL_FIRST else stage.item
    message = Refused(why, number, limit, item)
    return Outcome(state, (Tone("refuse"), Say(message)), is_accepted=False)
