"""Whether a saved state belongs to a stage, so that nothing outside its steps is ever looked up."""

from typing import Final

from companion.base.errors import JournalError
from companion.command import Kind
from companion.guide.messages import Mode
from companion.guide.state import Mending, State, Work
from companion.guide.terms import Way
from companion.job import Stage

_AT_END: Final = frozenset({Mode.FINISHED, Mode.LEFT_OVER})


def check_fits(state: State, stage: Stage) -> None:
    """Raise JournalError where a saved state does not belong to this stage."""
    fits = (
        (state.stage, state.steps) == (stage.name, len(stage.steps))
        and all(_is_work(each, state, stage) for each in (state, *state.undo))
        and _is_overlay(state, stage)
    )
    if not fits:
        raise JournalError(
            f"The saved place does not fit the {len(stage.steps)} steps of this plan's stage "
            f"{stage.name}; open the plan the session was made with, or begin a new session."
        )


def _is_work(work: Work, state: State, stage: Stage) -> bool:
    chosen = (*work.anew, *work.made, *work.mends_next)
    return (
        (work.base is Mode.HELD) == (work.count is not None)
        and _is_place(work, stage)
        and all(place < len(state.let_stand) for place in work.standing)
        and all(place < len(state.mends) for place in chosen)
        and (work.mending is None or _is_mending(work.mending, state))
        and not (work.felt_wrong and work.base in _AT_END)
        and len(work.left) <= len(stage.left_over) - (work.base is Mode.LEFT_OVER)
        and work.only_read <= work.confirmed
        and max(work.doubted, *work.affirmed, 0) <= len(stage.groups)
    )


def _is_place(work: Work, stage: Stage) -> bool:
    if work.base in _AT_END:
        is_asked = work.base is Mode.FINISHED or bool(stage.left_over)
        is_end = (work.confirmed, work.checked) == (len(stage.steps), len(stage.groups))
        return is_asked and is_end
    if work.checked >= len(stage.groups):
        return False
    group = stage.groups[work.checked]
    is_walking = int(work.base is Mode.WALKING)
    return group.first_step - is_walking <= work.confirmed <= group.last_step - is_walking


def _is_mending(mending: Mending, state: State) -> bool:
    return mending.mend < len(state.mends) and mending.task < len(state.mends[mending.mend].tasks)


def _is_overlay(state: State, stage: Stage) -> bool:
    if state.reading is not None:
        first, last, at = state.reading
        if not 1 <= first <= at <= last <= len(stage.steps):
            return False
    asked = state.question
    if asked is None or asked.kind in {Kind.STOP, Kind.LOOK, Kind.NEW_PLAN}:
        return True
    if asked.kind in {Kind.ACCEPT, Kind.COUNT}:
        return state.base is (Mode.HELD if asked.kind is Kind.ACCEPT else Mode.COUNTING)
    if asked.kind is Kind.DONE:
        return state.base is Mode.WALKING and asked.number in range(1, len(stage.steps) + 1)
    if asked.kind in {Kind.MEND, Kind.WRONG_EDGE}:
        return state.mending is None if asked.kind is Kind.MEND else asked.text in set(Way)
    step = stage.find(asked.number or 0)
    return asked.kind is Kind.REWIND and step is not None and step.number <= state.confirmed
