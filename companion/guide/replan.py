"""A walk whose plan becomes another: what of its state stays, and where it goes on."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from companion.guide.messages import Mode
from companion.guide.state import moved, without_overlays
from companion.guide.walk import end_base
from companion.job.plan_diff import is_same_work, steps_alike

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.guide.state import Base, State, Work
    from companion.job import Stage


def kept(state: State, old: Stage, new: Stage) -> State:
    """Return a state in the stage of another plan: as it was, up to the first step that differs.

    Groups that lie before the new place and were never counted in this form stand as not counted.
    """
    if is_same_work(old, new):
        return replace(state, steps=len(new.steps))
    alike = steps_alike(old, new)
    if _is_untouched(state, old, new, alike):
        undo = tuple(work for work in state.undo if _is_untouched(work, old, new, alike))
        return replace(without_overlays(state), steps=len(new.steps), undo=undo)
    return _placed(state, old, new, min(state.sure, alike))


def as_done(state: State, old: Stage, new: Stage) -> State:
    """Return a finished stage as finished by another plan too: what was done is left as it is."""
    if is_same_work(old, new):
        return replace(state, steps=len(new.steps))
    size = _Place(len(new.steps), len(new.groups), Mode.FINISHED)
    return _at(state, new, size, tuple(each for each in state.affirmed if each <= size.checked))


def _is_untouched(work: Work, old: Stage, new: Stage, alike: int) -> bool:
    """Return whether all that the work has come to, and its present group, is in both plans."""
    upto = work.checked + 1
    is_under_way = work.base not in {Mode.FINISHED, Mode.LEFT_OVER}
    return is_under_way and work.confirmed <= alike and old.groups[:upto] == new.groups[:upto]


class _Place(NamedTuple):
    confirmed: int
    checked: int
    base: Base


def _placed(state: State, old: Stage, new: Stage, confirmed: int) -> State:
    counted_to = old.groups[state.checked - 1].last_step if state.checked else 0
    checked = sum(group.last_step <= confirmed for group in new.groups)
    is_open = state.options.ask_counts and checked and counted_to < confirmed
    last = new.groups[checked - 1] if checked else None
    base: Base = Mode.WALKING
    if is_open and last is not None and last.last_step == confirmed and last.expected:
        checked, base = checked - 1, Mode.COUNTING
    elif checked == len(new.groups):
        base = end_base(state, new)
    uncounted = _uncounted(state, old, counted_to)
    affirmed = tuple(
        group.number
        for group in new.groups[:checked]
        if group.expected and any(uncounted(step.number) for step in new.steps_of(group))
    )
    return _at(state, new, _Place(confirmed, checked, base), affirmed)


def _uncounted(state: State, old: Stage, counted_to: int) -> Callable[[int], bool]:
    """Return what tells whether a step's group was passed without a count."""
    affirmed = [old.groups[number - 1] for number in state.affirmed]
    passed = {step.number for group in affirmed for step in old.steps_of(group)}
    return lambda number: number > counted_to or number in passed


def _at(state: State, new: Stage, place: _Place, affirmed: tuple[int, ...]) -> State:
    before = replace(without_overlays(state), steps=len(new.steps), is_paused=False)
    after = moved(
        before,
        place.base,
        confirmed=place.confirmed,
        checked=place.checked,
        only_read=0,
        affirmed=affirmed,
        doubted=0,
        left=(),
    )
    return replace(after, undo=())
