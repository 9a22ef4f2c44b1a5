"""A walk whose plan becomes another: what of its state stays, and where it goes on."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final, NamedTuple

from companion.diagnosis.mends import How
from companion.guide.effects import Outcome
from companion.guide.events import Events
from companion.guide.mending import begin, next_of
from companion.guide.messages import Mode
from companion.guide.place import stretch, ways_to_mend
from companion.guide.state import Base, Reported, State, Work, moved, without_overlays
from companion.guide.touch_check import planned
from companion.guide.walk import end_base
from companion.job import Stage
from companion.job.plan_diff import is_same_work, other_shafts, steps_alike, threaded_alike


class Mended(NamedTuple):
    """A mend by which what is threaded follows another plan."""

    state: State
    """Before its first task."""
    events: Events
    ends: tuple[int, ...]
    """Those on other shafts."""


def kept(state: State, old: Stage, new: Stage) -> State:
    """Return a state in the stage of another plan: as it was, up to the first step that differs.

    Groups that lie before the new place and were never counted in this form stand as not counted.
    """
    if is_same_work(old, new):
        return replace(state, steps=len(new.steps))
    after = _kept(state, old, new, steps_alike(old, new))
    hang = threaded_alike(old, new, max(state.sure, state.threaded))
    is_sleyed_anew = any(step.shafts and step.dents for step in new.steps[after.confirmed : hang])
    is_both = new.name == "thread-and-sley" and is_sleyed_anew
    return replace(after, threaded=hang if is_both else 0)


def mended_in_place(state: State, old: Stage, new: Stage) -> Mended | None:
    """Return how ends in heddles come to lie by another plan without being threaded anew.

    In each of their groups it is the mend that would be offered if the shafts they are on were
    felt there; they are walked one after the other. None where the plans differ in more than the
    shafts of a few ends of each group, or threading anew is less work.
    """
    ends = other_shafts(old, new, state.sure)
    is_under_way = state.base in {Mode.WALKING, Mode.COUNTING} and state.mending is None
    if not ends or not is_under_way:
        return None
    begun, before = _kept(state, old, new, state.sure), len(state.mends)
    events: Events = ()
    for group in dict.fromkeys(step.group for step in ends):
        outcome = _mended_group(begun, group, old, new)
        if outcome is None:
            return None
        chosen = tuple(range(before, len(outcome.state.mends)))
        begun, events = replace(outcome.state, mends_next=chosen), (*events, *outcome.events)
    effort = sum(mend.account.mend.effort for mend in begun.mends[before:])
    if effort >= new.steps[state.sure - 1].last_end - ends[0].first_end + 1:
        return None
    mending, later = next_of(begun.mends_next)
    # Undone, the ends would lie as in the plan that is no more.
    walked = replace(begun, mending=mending, mends_next=later, undo=(), question=None)
    return Mended(walked, events, tuple(new.number_of(step) for step in ends))


def _mended_group(state: State, group: int, old: Stage, new: Stage) -> Outcome | None:
    """Return the cheapest mend in a group by which it follows the new plan, begun; None for none.

    That it is threaded by the old plan is known as if its shafts had been felt.
    """
    looking = replace(without_overlays(state), looking=group)
    there = stretch(looking, new)
    steps = old.steps[there[0].number - 1 : there[-1].number]
    felt = tuple(each.value for each in planned(old, steps))
    looking = replace(looking, reported=Reported(felt=felt))
    for number, option in enumerate(ways_to_mend(looking, new)):
        if _IN_PLACE.issuperset(option.mend.how):
            return begin(looking, new, number)
    return None


def _kept(state: State, old: Stage, new: Stage, alike: int) -> State:
    if _is_untouched(state, old, new, alike):
        undo = tuple(work for work in state.undo if _is_untouched(work, old, new, alike))
        return replace(without_overlays(state), steps=len(new.steps), undo=undo)
    return _placed(state, old, new, min(state.sure, alike))


def as_done(state: State, old: Stage, new: Stage) -> State:
    """Return a finished stage as finished by another plan too: what was done is left as it is."""
    if is_same_work(old, new):
        return replace(state, steps=len(new.steps))
    steps, groups = len(new.steps), len(new.groups)
    affirmed = tuple(group for group in state.affirmed if group <= groups)
    return _moved_to(state, new, Mode.FINISHED, confirmed=steps, checked=groups, affirmed=affirmed)


def _is_untouched(work: Work, old: Stage, new: Stage, alike: int) -> bool:
    """Return whether all that the work has come to, and its present group, is in both plans."""
    upto = work.checked + 1
    is_under_way = work.base not in {Mode.FINISHED, Mode.LEFT_OVER}
    return is_under_way and work.confirmed <= alike and old.groups[:upto] == new.groups[:upto]


_IN_PLACE: Final = frozenset({How.REPAIR_HEDDLE, How.SWAP_ENDS})


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
    return _moved_to(state, new, base, confirmed=confirmed, checked=checked, affirmed=affirmed)


def _uncounted(state: State, old: Stage, counted_to: int) -> Callable[[int], bool]:
    """Return what tells whether a step's group was passed without a count."""
    affirmed = [old.groups[number - 1] for number in state.affirmed]
    passed = {step.number for group in affirmed for step in old.steps_of(group)}
    return lambda number: number > counted_to or number in passed


def _moved_to(state: State, new: Stage, base: Base, **place: Any) -> State:
    """Return a state at another place, by the values of its work that tell it."""
    before = replace(without_overlays(state), steps=len(new.steps), is_paused=False)
    return replace(moved(before, base, only_read=0, doubted=0, felt_wrong=(), **place), undo=())
