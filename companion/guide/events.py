"""What a command brought about, as values to be kept; some are messages to be said as well."""

from functools import cache
from typing import Any, Final

import pydantic_core
from pydantic import TypeAdapter, ValidationError

from companion.base.errors import JournalError
from companion.base.value import Value
from companion.diagnosis.mends import Mend
from companion.diagnosis.slips import Diagnosis
from companion.guide.terms import Message, Way
from companion.job import LeftOver, Noun, StageName


class Event(Value):
    """Something that happened."""


class OfSteps(Event):
    """Something that happened to the steps with these numbers."""

    first: int
    last: int


class InGroup(Event):
    """Something that happened in one group."""

    group: int


class Confirmed(OfSteps):
    """Steps were confirmed."""


class ReadOn(OfSteps):
    """Steps were read on by the pace alone; nobody confirmed them."""


class TakenOver(Event, Message):
    """The walk begins on work that is half done; what stands before is taken over as it is."""

    first: int
    """The first end, or item, that is taken over."""
    last: int
    item: Noun = "end"


class Walked(Value):
    """What a session walks; the plan itself is given only where that changed."""

    stages: tuple[StageName, ...]
    turn: str | None = None
    """Whether it is begun at the other edge, as `plan.turned` has it; None is as before."""
    first_dent: int | None = None
    """The reed's own dent that the work was begun in, where the plan has another; else 0. None is
    as before."""
    fingerprint: str = ""
    plan_text: str = ""
    draft_text: str | None = None


class StagesAdded(Event):
    """A session goes on for more stages of its plan than it was begun for."""

    before: Walked
    after: Walked


class PlanChanged(Event, Message):
    """Another plan is walked from here on; the place is kept up to the first step that differs."""

    before: Walked
    after: Walked
    where: StageName | None = None
    """The stage at hand, where it is told of; None where nothing is begun."""
    first: int = 0
    """The first in it, by the number the weaver knows, that is another; 0 where none is."""
    last: int = 0
    """The last that must be undone; 0 where nothing must."""
    item: Noun = "end"
    why: str = ""
    """What else there is to say of it: one of the words of `guide.terms`, or ""."""
    threaded: int = 0
    """The last end that stays in its heddle and is only sleyed anew; 0 where none does."""
    is_regrouped: bool = False
    """Whether only the groups are others."""
    ends: tuple[int, int] = (0, 0)
    """How many there were and are, where that changed."""
    way: Way | None = None
    """How it goes on, where all that changed is the edge it was begun at."""
    edge: str = ""
    """Where end 1 is then."""
    off_centre: int = 0
    """By how many dents the warp lies off the middle of the reed, since its first dent stays."""
    later: tuple[StageName, ...] = ()
    """Stages to come that are others now."""
    mended: tuple[int, ...] = ()
    """Ends on other shafts now, which are mended where they are."""
    stands: tuple[StageName, ...] = ()
    """Stages that are done and past, and stay so although the new plan has them otherwise."""
    left_out: tuple[StageName, ...] = ()
    added: tuple[StageName, ...] = ()


class Declined(Value):
    """A plan that is not walked."""

    declined: str
    """Its fingerprint."""


class PlanDeclined(Event):
    """The weaver goes on by the plan as it was, although its file holds another one."""

    after: Declined


class TakenBack(OfSteps, Message):
    """Steps are confirmed no more."""

    reopened: int = 0
    """The first group that will be counted once more; 0 where none was closed."""
    is_counted: bool = True
    """Whether that was counted before, and not only passed or taken over."""


class Counted(InGroup, Message):
    """A count is as planned."""

    count: int
    counted: Noun
    is_so_far: bool = False
    """Whether the group is not complete yet."""


class Affirmed(InGroup, Message):
    """A group was said to hold what is planned, and was not counted."""

    expected: int
    counted: str


class FoundWrong(InGroup):
    """A count is not as planned."""

    count: int
    expected: int
    counted: Noun
    is_so_far: bool = False


class MistakeReported(InGroup):
    """The weaver said that something is wrong in the present group."""


class LookedAt(InGroup):
    """The weaver looks at a group that is not the present one."""


class FeltRight(Event, Message):
    """What the weaver named is as planned."""

    first_end: int
    last_end: int
    item: Noun = "end"
    """"dent" where the ends in each dent are named, and not the shaft of each end."""


class FeltWrong(Event, Message):
    """The first end where what the weaver named is not the plan."""

    last_end: int
    """The end itself."""
    felt: int
    planned: int
    item: Noun = "end"
    is_beyond: bool = False
    """Whether more was named than is there to be felt."""


class HeddlesReported(Event, Message):
    """Heddles left over, or missing, as reported so far."""

    spare: tuple[tuple[int, int], ...]
    """(shaft, more than planned; below 0 fewer)."""


class LeftCounted(Event):
    """What is left over at the end of the stage was told."""

    left: LeftOver
    count: int | None
    """None where it was said to be as planned."""


class Overridden(InGroup, Message):
    """The weaver let a count stand although it differs from the plan."""

    step: int
    """Steps confirmed when it was accepted."""
    count: int
    expected: int
    reason: str = ""
    left: LeftOver | None = None
    """What was counted, where it was not the group."""
    felt: tuple[int, ...] = ()
    """What was felt in the group and is not as planned either, in order."""


class GroupClosed(InGroup):
    """A group's boundary was passed."""


class MendAccount(Value):
    """A mend: what was reported, what it was taken for, and what is done about it."""

    group: int
    """0 for the whole warp."""
    step: int
    """Steps confirmed when it was chosen."""
    count: int | None
    """None where the group was not counted."""
    expected: int
    spare: tuple[tuple[int, int], ...]
    """(shaft, heddles more than planned) as reported."""
    felt: tuple[int, ...]
    """As reported, in order."""
    diagnosis: Diagnosis
    mend: Mend


class MendChosen(Event):
    """The weaver will mend something; nothing of it is done yet."""

    account: MendAccount


class MendTaskDone(Event):
    """One small step of the mend was done."""

    number: int
    """1-based."""


class MendTaskReopened(Event):
    """The weaver went back to one small step of the mend."""

    number: int


class MendLeft(Event, Message):
    """A mend was left before its end; nothing of it is on record."""


class MendFinished(Event, Message):
    """A mend was made."""

    account: MendAccount


class Undone(Event, Message):
    """The last change was undone; the work stands again as it stood before."""

    confirmed: int
    """Steps confirmed after it."""
    closed: int
    """Groups closed after it."""
    overrides: tuple[Overridden, ...]
    """Those that stand after it."""
    mends: int
    """How many mends stand as made."""
    only_read: int = 0
    """How many of the steps confirmed were only read on, and await a press."""


class Paused(Event, Message):
    """The walk rests until the weaver resumes it."""


class Resumed(Event, Message):
    """The walk goes on."""


class StageFinished(Event):
    """The stage is complete."""

    stage: StageName


Events = tuple[Event, ...]

_KINDS: Final[dict[str, type[Event]]] = {
    name: kind
    for name, kind in tuple(globals().items())
    if isinstance(kind, type) and issubclass(kind, Event)
}
_NAME: Final = "event"


def to_json(events: Events) -> str:
    """Return events as a JSON list of objects, each with its name as "event"."""
    told = [{_NAME: type(event).__name__, **event.plain()} for event in events]
    return pydantic_core.to_json(told).decode()


def from_json(text: str) -> Events:
    """Return the events that `to_json` gave; JournalError for any other text."""
    try:
        rows = _rows().validate_json(text)
        return tuple(_adapter(row.pop(_NAME)).validate_python(row) for row in rows)
    except (ValidationError, KeyError):
        raise JournalError(
            "What the record says of a command is damaged or from another version; the place is "
            "kept beside it, so the session can be gone on with."
        ) from None


@cache
def _rows() -> TypeAdapter[list[dict[str, Any]]]:
    return TypeAdapter(list[dict[str, Any]])


@cache
def _adapter(name: str) -> TypeAdapter[Event]:
    return TypeAdapter(_KINDS[name])
