"""The state of a walk: small, frozen and exactly restored from its JSON."""

from contextlib import suppress
from dataclasses import MISSING, fields, replace
from functools import cache
from typing import Any, ClassVar, Final, Literal, NamedTuple

from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic_core import from_json, to_json

from companion.base.errors import JournalError
from companion.base.value import Value
from companion.command import Command, Kind
from companion.command.size import ONE_END, Detail, StepSize
from companion.guide.events import MendAccount, Overridden
from companion.guide.messages import Mode, Opening
from companion.guide.terms import Task, Whole
from companion.job import StageName

UNDO_DEPTH: Final = 32
"""How many changes can be undone, one after the other."""

REASON_LENGTH: Final = 120
"""The longest reason kept with an accepted count, in characters."""

Base = Literal[Mode.WALKING, Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD, Mode.FINISHED]
_STRICT: Final = ConfigDict(extra="forbid", strict=True)


class Options(Value):
    """What the weaver has set for the walk."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    ask_counts: bool = True
    """Whether each group's boundary waits for a count."""
    demand_counts: bool = False
    """Whether a count must be given as a number, and cannot be affirmed."""
    pace_seconds: Whole = 0
    """How long each callout is left standing before the next is read on; 0 waits for "done"."""
    size: StepSize = ONE_END
    """How many ends, or what, one callout takes in hand."""
    detail: Detail = "all"
    """What is told of each end."""
    say_unit: bool = True
    """Whether a unit is named where it begins."""
    say_cross: bool = False
    """Whether each callout of the threading reminds of the cross that its ends come from."""
    say_knot: bool = False
    """Whether each group of the threading ends with a reminder to tie it in a slip knot."""
    cautions: bool = True
    """Whether the usual cautions are said at the start."""
    stage_cautions: bool = True
    """Whether a stage with a danger of its own begins with it."""
    knows_cautions: bool = False
    """Whether one sentence reminds of the usual cautions, as the weaver has heard them whole."""
    knows_weaving: bool = False
    """The same of those of weaving."""
    opening: Opening = "first"
    """How much is told when a stage begins."""
    tell_help: bool = True
    """Whether the start tells how to ask for help."""
    ask_left: bool = True
    """Whether the heddles and dents left over are asked for at the end of a stage."""


class Reported(NamedTuple):
    """What the weaver reports of the stretch in hand, beside its count."""

    spare: tuple[tuple[Whole, int], ...] = ()
    """(shaft, heddles left over more than planned; below 0 fewer), shaft by shaft."""
    felt: tuple[Whole, ...] = ()
    """As felt in a group that is looked at, where that is not as planned; or as planned, where the
    count, there or in the group held, says that it is all there is."""
    counted: Whole | None = None
    """The wrong count of a group that is looked at."""


NOTHING: Final = Reported()


class ChosenMend(NamedTuple):
    """A mend as it was chosen."""

    account: MendAccount
    tasks: tuple[Task, ...]
    """Its small steps; none where the walk goes back and the work is done anew, or where the mend
    is long past."""
    until: Whole = 0
    """Where there are no tasks: with so many steps confirmed again the work is done."""
    is_elsewhere: bool = False
    """Whether it is in a group that was only looked at, so that the walk goes on where it was."""


class Mending(NamedTuple):
    """The mend under way, small step by small step."""

    mend: Whole
    """Its place among the mends chosen, from 0."""
    task: Whole
    """The one of its tasks to do, from 0."""


class Reading(NamedTuple):
    """A read-back under way, in step numbers."""

    first: Whole
    last: Whole
    at: Whole


class Work(Value, kw_only=True):
    """How the work stands: what a change changes, and undoing brings back."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    confirmed: Whole = 0
    """Steps confirmed."""
    checked: Whole = 0
    """Groups whose boundary is passed; the present group is the one after."""
    base: Base = Mode.WALKING
    count: Whole | None = None
    """The count that was not right, while held."""
    is_explained: bool = False
    """Whether its likely causes are told: counted twice alike, or asked for."""
    standing: tuple[Whole, ...] = ()
    """Which of the counts ever let stand do so, in the order of their steps, from 0."""
    reported: Reported = NOTHING
    """Forgotten when the work changes, unless more is reported."""
    felt_wrong: tuple[Whole, ...] = ()
    """As felt in the present group, where that is not as planned; until it is, or is let stand."""
    mending: Mending | None = None
    mends_next: tuple[Whole, ...] = ()
    """Which of the mends chosen follow the one under way."""
    anew: tuple[Whole, ...] = ()
    """Which of the mends chosen wait for their ends to be done anew."""
    made: tuple[Whole, ...] = ()
    """Which of the mends chosen are made, the latest last."""
    left: tuple[Whole | None, ...] = ()
    """Answers to what is left over at the end of the stage; None where none was given."""
    only_read: Whole = 0
    """How many of the steps confirmed last were only read on by the pace, and await a press."""
    doubted: Whole = 0
    """The group in which a count was found wrong, until it is passed; it cannot be affirmed."""
    affirmed: tuple[Whole, ...] = ()
    """The groups that were passed without being counted, in order."""

    @property
    def sure(self) -> int:
        """Steps that the weaver herself has confirmed."""
        return self.confirmed - self.only_read


class State(Work, kw_only=True):
    """Where a walk is; a read-back, a question and a pause lie on top without touching it."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    stage: StageName
    steps: Whole
    """Steps in the stage, to notice a state that belongs to another plan."""
    options: Options
    let_stand: tuple[Overridden, ...] = ()
    """Every count ever let stand, those undone too."""
    mends: tuple[ChosenMend, ...] = ()
    """Every mend ever chosen, those left or undone too."""
    reading: Reading | None = None
    looking: Whole = 0
    """The group that is looked at, beside the present one; 0 for none."""
    question: Command | None = None
    """The command that awaits yes or no."""
    is_paused: bool = False
    threaded: Whole = 0
    """Up to which step ends hang in their heddles that are being sleyed anew; 0 where none do."""
    undo: tuple[Work, ...] = ()
    """How the work stood before each change, the latest last."""

    @property
    def overrides(self) -> tuple[Overridden, ...]:
        """The counts that stand although they differ from the plan, in the order of their steps."""
        return tuple(self.let_stand[place] for place in self.standing)

    @property
    def mended(self) -> tuple[MendAccount, ...]:
        """The mends made, the latest last."""
        return tuple(self.mends[place].account for place in self.made)

    @property
    def asked(self) -> Kind | None:
        """Which command awaits yes or no, if any."""
        return self.question.kind if self.question is not None else None

    @property
    def mode(self) -> Mode:
        """What the guide is waiting for."""
        if self.question is not None:
            return Mode.LOOKING if self.asked is Kind.LOOK else Mode.CONFIRMING
        if self.is_paused:
            return Mode.PAUSED
        if self.reading is not None:
            return Mode.READING
        if self.looking:
            return Mode.LOOKING
        return self.base if self.mending is None else Mode.MENDING

    def to_json(self) -> str:
        """Return the state as one line of JSON."""
        return to_json(_Saved(2, self).plain()).decode()

    @classmethod
    def from_json(cls, text: str) -> "State":
        """Return the state a line of JSON holds; JournalError where it is none of this version."""
        try:
            return State(**vars(_adapter(_told(text)).validate_json(text).state))
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            place = ".".join(str(part) for part in first["loc"]) or "all"
            raise JournalError(
                f"The saved place is damaged or from another version ({place}: {first['msg']}); "
                "nothing was changed, so go back to an earlier copy of the session or begin a new "
                "one."
            ) from None


class _Saved(Value):
    """A state with the version of its form."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    version: Literal[2]
    state: State


def _told(text: str) -> frozenset[str]:
    """Return the fields that a saved state tells of; none where it is damaged."""
    with suppress(ValueError, TypeError, LookupError):
        return frozenset(from_json(text)["state"])
    return frozenset()


@cache
def _adapter(told: frozenset[str]) -> TypeAdapter[_Saved]:
    """Return what reads these fields and those that must be told: all take long to prepare."""
    kinds = {
        each.name: each.type
        for each in fields(State)
        if each.name in told or each.default is MISSING
    }
    some = type("State", (Value,), {"__annotations__": kinds, "__pydantic_config__": _STRICT})
    return TypeAdapter(type("Saved", (_Saved,), {"__annotations__": {"state": some}}))


def work_of(state: State) -> Work:
    """Return the work alone."""
    return Work(**_work_values(state))


_OF_WORK: Final = tuple(own.name for own in fields(Work))


def _work_values(work: Work) -> dict[str, Any]:
    return {name: getattr(work, name) for name in _OF_WORK}


def changed(state: State, **work: Any) -> State:
    """Return the state with the work changed, so that it can be undone."""
    undo = (*state.undo, work_of(without_overlays(state)))[-UNDO_DEPTH:]
    after = replace(without_overlays(state), **{"reported": NOTHING, **work}, undo=undo)
    return replace(after, mends=_with_tasks_in_use(after)) if state.mends else after


def without_overlays(state: State) -> State:
    """Return the state without a read-back, a look and what it found, or a question upon it."""
    own = NOTHING if state.looking else state.reported
    return replace(state, reading=None, looking=0, question=None, reported=own)


def _with_tasks_in_use(state: State) -> tuple[ChosenMend, ...]:
    """Return the mends chosen; the tasks of those that undoing cannot lead into any more go."""
    works = (state, *state.undo)
    used = {work.mending.mend for work in works if work.mending}
    used.update(*(work.mends_next for work in works))
    return tuple(
        mend if place in used else mend._replace(tasks=()) for place, mend in enumerate(state.mends)
    )


def moved(
    state: State,
    base: Base,
    *,
    confirmed: int | None = None,
    checked: int | None = None,
    count: int | None = None,
    added: Overridden | None = None,
    left: tuple[int | None, ...] = (),
    only_read: int | None = None,
    **more: Any,
) -> State:
    """Return the state at another place, so that it can be undone.

    What was let stand after the new place stands no more; what is added comes last. A mend under
    way is left; one whose ends are all done anew is made. Steps only read on stay so before the new
    place; `only_read` tells how many, where that changes. `more` are other values of the work.
    """
    place = state.confirmed if confirmed is None else confirmed
    unsure = max(0, min(place, state.confirmed) - state.sure) if only_read is None else only_read
    let_stand = state.let_stand if added is None else (*state.let_stand, added)
    kept = tuple(one for one in state.standing if state.let_stand[one].step <= place)
    done = done_anew(state, place - unsure)
    now_checked = state.checked if checked is None else checked
    is_counted = state.options.ask_counts  # else a group is passed without its doubt being cleared
    work = {
        "base": base,
        "confirmed": place,
        "checked": now_checked,
        "felt_wrong": state.felt_wrong if now_checked == state.checked else (),
        "count": count,
        "standing": kept if added is None else (*kept, len(state.let_stand)),
        "mending": None,
        "mends_next": (),
        "anew": tuple(one for one in state.anew if one not in done),
        "made": (*state.made, *done),
        "left": left,
        "only_read": unsure,
        "doubted": state.doubted if state.doubted > now_checked or not is_counted else 0,
        "affirmed": tuple(group for group in state.affirmed if group <= now_checked),
        "threaded": state.threaded if place <= state.threaded else 0,
    }
    return changed(state, **{**work, **more}, let_stand=let_stand)


def done_anew(state: State, confirmed: int) -> tuple[int, ...]:
    """Return the mends that are made once so many steps are confirmed again."""
    return tuple(one for one in state.anew if confirmed >= state.mends[one].until)


def undone(state: State) -> State:
    """Return the state before the last change; there must be one."""
    return replace(without_overlays(state), **_work_values(state.undo[-1]), undo=state.undo[:-1])
