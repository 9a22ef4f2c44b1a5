"""The state of a walk: small, frozen and exactly restored from its JSON."""

from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, ClassVar, Final, Literal, NamedTuple

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError

from companion.base.errors import JournalError
from companion.command import Command, Kind
from companion.command.size import ONE_END, Detail, StepSize
from companion.guide.mend_messages import Mended
from companion.guide.messages import Mode, Override
from companion.guide.terms import Task
from companion.job import Stage, StageName

UNDO_DEPTH: Final = 32
"""How many changes can be undone, one after the other."""

REASON_LENGTH: Final = 120
"""The longest reason kept with an accepted count, in characters."""

Whole = Annotated[int, Field(ge=0, le=10_000_000)]
Base = Literal[Mode.WALKING, Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD, Mode.FINISHED]
_STRICT: Final = ConfigDict(extra="forbid", strict=True)


@dataclass(frozen=True, slots=True)
class Options:
    """What the weaver has set for the walk."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    ask_counts: bool = True
    """Whether each group's boundary waits for a count."""
    affirm_with_done: bool = False
    """Whether "done" at a boundary stands for the right count, which is then told beforehand."""
    size: StepSize = ONE_END
    """How many ends, or what, one callout takes in hand."""
    detail: Detail = "all"
    """What is told of each end."""
    say_unit: bool = True
    """Whether a unit is named where it begins."""
    cautions: bool = True
    """Whether the usual cautions are said at the start."""
    stage_cautions: bool = True
    """Whether a stage with a danger of its own begins with it."""
    tell_help: bool = True
    """Whether the start tells how to ask for help."""
    ask_left: bool = True
    """Whether the heddles and dents left over are asked for at the end of a stage."""


class Reported(NamedTuple):
    """What the weaver reports of the stretch in hand, beside its count."""

    spare: tuple[tuple[Whole, int], ...] = ()
    """(shaft, heddles left over more than planned; below 0 fewer), shaft by shaft."""
    felt: tuple[Whole, ...] = ()
    """Shafts by end, or ends by dent, that are not as planned; () where nothing was felt wrong."""


NOTHING: Final = Reported()


class Mending(NamedTuple):
    """A mend as it was chosen."""

    tasks: tuple[Task, ...]
    found: str
    """The diagnosis, in words."""
    done: str
    """The mend, in words."""
    reported: Reported


class Change(NamedTuple):
    """What it takes to undo one change."""

    confirmed: Whole
    checked: Whole
    base: Base
    held_count: Whole | None
    kept: Whole
    """How many of the present overrides stand."""
    dropped: tuple[Override, ...]
    """The overrides to put behind them."""
    task: Whole | None = None
    """The task of the mend under way."""
    mended: Whole = 0
    """How many of the mends on record stand."""
    left: tuple[Whole | None, ...] = ()
    replaced: Mending | None = None
    """The mend before, where the change began another."""


class Reading(NamedTuple):
    """A read-back under way, in step numbers."""

    first: Whole
    last: Whole
    at: Whole


@dataclass(frozen=True, slots=True)
class State:
    """Where a walk is.

    The work stands in `confirmed`, `checked`, `base`, `count` and `overrides`; a read-back, a
    question and a pause lie on top of it without touching it.
    """

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    stage: StageName
    steps: Whole
    """Steps in the stage, to notice a state that belongs to another plan."""
    options: Options
    confirmed: Whole = 0
    """Steps confirmed."""
    checked: Whole = 0
    """Groups whose boundary is passed; the present group is the one after."""
    base: Base = Mode.WALKING
    count: Whole | None = None
    """The count that was not right, while held."""
    overrides: tuple[Override, ...] = ()
    """In the order of their steps."""
    reading: Reading | None = None
    question: Command | None = None
    """The command that awaits yes or no."""
    is_paused: bool = False
    reported: Reported = NOTHING
    """Forgotten when the work changes, unless more is reported."""
    mending: Mending | None = None
    """The mend under way, or else the one before, which undoing may lead into again."""
    task: Whole | None = None
    """The task to do of the mend under way, from 0; None while there is none."""
    mended: tuple[Mended, ...] = ()
    """The mends made, the latest last."""
    left: tuple[Whole | None, ...] = ()
    """Answers to what is left over at the end of the stage; None where none was given."""
    undo: tuple[Change, ...] = ()
    """The latest last."""

    @property
    def mode(self) -> Mode:
        """What the guide is waiting for."""
        if self.is_paused:
            return Mode.PAUSED
        if self.question is not None:
            return Mode.CONFIRMING
        if self.reading is not None:
            return Mode.READING
        return self.base if self.task is None else Mode.MENDING

    def to_json(self) -> str:
        """Return the state as one line of JSON."""
        return _adapter().dump_json(_Saved(1, self)).decode()

    @classmethod
    def from_json(cls, text: str) -> "State":
        """Return the state a line of JSON holds.

        Raises:
            JournalError: where the text is damaged or is not a state of this version.
        """
        try:
            return _adapter().validate_json(text).state
        except ValidationError as error:
            raise JournalError(_damage(error)) from None


@dataclass(frozen=True, slots=True)
class _Saved:
    """A state with the version of its form."""

    __pydantic_config__: ClassVar[ConfigDict] = _STRICT

    version: Literal[1]
    state: State


@cache
def _adapter() -> TypeAdapter[_Saved]:
    return TypeAdapter(_Saved)


def _damage(error: ValidationError) -> str:
    first = error.errors(include_url=False)[0]
    place = ".".join(str(part) for part in first["loc"]) or "the whole of it"
    return (
        f"The saved place is damaged or from another version ({place}: {first['msg']}); "
        "nothing was changed, so go back to an earlier copy of the session or begin a new one."
    )


def check_fits(state: State, stage: Stage) -> None:
    """Raise JournalError where a saved state does not belong to this stage."""
    places = [(state.confirmed, state.checked, state.base, state.count)]
    places += [(past.confirmed, past.checked, past.base, past.held_count) for past in state.undo]
    fits = (
        (state.stage, state.steps) == (stage.name, len(stage.steps))
        and all(_is_place(stage, *place) for place in places)
        and _is_overlay(state, stage)
        and _is_mend(state)
        and len(state.left) <= len(stage.left_over) - (state.base is Mode.LEFT_OVER)
    )
    if not fits:
        raise JournalError(
            f"The saved place does not fit this plan's {stage.title} of {len(stage.steps)} steps; "
            "open the plan the session was made with, or begin a new session."
        )


def _is_place(stage: Stage, confirmed: int, checked: int, base: Mode, count: int | None) -> bool:
    """Return whether the work can stand like this in this stage."""
    if (base is Mode.HELD) != (count is not None):
        return False
    if base in {Mode.FINISHED, Mode.LEFT_OVER}:
        is_asked = base is Mode.FINISHED or bool(stage.left_over)
        return is_asked and confirmed == len(stage.steps) and checked == len(stage.groups)
    if checked >= len(stage.groups):
        return False
    group = stage.groups[checked]
    is_walking = int(base is Mode.WALKING)
    return group.first_step - is_walking <= confirmed <= group.last_step - is_walking


def _is_overlay(state: State, stage: Stage) -> bool:
    """Return whether the read-back and the question fit what is confirmed."""
    if state.reading is not None:
        first, last, at = state.reading
        if not 1 <= first <= at <= last <= len(stage.steps):
            return False
    asked = state.question
    if asked is None:
        return True
    if asked.kind is Kind.ACCEPT:
        return state.base is Mode.HELD
    if asked.kind is Kind.MEND:
        return state.task is None
    step = stage.find(asked.number or 0)
    return asked.kind is Kind.REWIND and step is not None and step.number <= state.confirmed


def _is_mend(state: State) -> bool:
    """Return whether the task to do is one of the mend's."""
    if state.task is None:
        return True
    return state.mending is not None and state.task < len(state.mending.tasks)


def change(
    state: State,
    base: Base,
    *,
    confirmed: int | None = None,
    checked: int | None = None,
    count: int | None = None,
    added: Override | None = None,
    left: tuple[int | None, ...] = (),
) -> State:
    """Return the state with the work changed, so that it can be undone.

    Overrides given after the new place are dropped, and an added one is put behind the rest. A
    mend under way is left.
    """
    place = state.confirmed if confirmed is None else confirmed
    kept = tuple(given for given in state.overrides if given.step <= place)
    return replace(
        state,
        base=base,
        confirmed=place,
        checked=state.checked if checked is None else checked,
        count=count,
        overrides=kept if added is None else (*kept, added),
        undo=(*state.undo, _before(state, len(kept)))[-UNDO_DEPTH:],
        reading=None,
        question=None,
        reported=NOTHING,
        task=None,
        left=left,
    )


def _before(state: State, kept: int) -> Change:
    """Return what it takes to come back to a state."""
    return Change(
        state.confirmed,
        state.checked,
        state.base,
        state.count,
        kept,
        state.overrides[kept:],
        state.task,
        len(state.mended),
        state.left,
    )


def begin_mend(state: State, mending: Mending) -> State:
    """Return the state at the first task of a mend; the rest of the work stands as it was."""
    before = _before(state, len(state.overrides))._replace(replaced=state.mending)
    begun = replace(state, mending=mending)
    return _at_task(begun, before, 0)


def go_to_task(state: State, task: int | None) -> State:
    """Return the state at another task of the mend under way; at None the mend is left."""
    return _at_task(state, _before(state, len(state.overrides)), task)


def _at_task(state: State, before: Change, task: int | None) -> State:
    undo = (*state.undo, before)[-UNDO_DEPTH:]
    return replace(state, task=task, undo=undo, reading=None, question=None, reported=NOTHING)


def undone(state: State) -> State:
    """Return the state before the last change; there must be one."""
    last = state.undo[-1]
    is_unbegun = state.task is not None and last.task is None
    return replace(
        state,
        confirmed=last.confirmed,
        checked=last.checked,
        base=last.base,
        count=last.held_count,
        overrides=state.overrides[: last.kept] + last.dropped,
        undo=state.undo[:-1],
        reading=None,
        question=None,
        reported=state.mending.reported if is_unbegun and state.mending else NOTHING,
        mending=last.replaced if is_unbegun else state.mending,
        task=last.task,
        mended=state.mended[: last.mended],
        left=last.left,
    )
