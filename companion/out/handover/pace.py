"""The pace of the work from what was recorded: sittings, time at work, time left. No clock."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

GAP_SECONDS: Final = 300.0
"""A longer time without a command was not spent at the work, and is left out."""
PARTS: Final = 5
"""The work of a stage is cut in so many parts, to see how much the pace varies."""
ENOUGH_STEPS: Final = 20
"""No pace is told of fewer steps: four in each part."""
LEAST_SECONDS: Final = 1.0
"""A step done by hand takes longer: the quickest figure we have of threading is 200 ends an hour,
18 seconds each, and a walk that reads on by itself goes on a second at the soonest. What is
quicker was pressed on or came from a file, and says nothing of the work."""
HOUR: Final = 3600.0


class Moment(NamedTuple):
    """One entry of the record, as far as time goes."""

    at: float
    """Seconds since any fixed time. Clocks of several machines may be mixed: times are compared
    within a sitting alone."""
    stage: str
    position: int
    """Steps of the stage confirmed after it."""
    weaver: str = ""
    is_opening: bool = False
    """Whether a sitting begins with it."""
    is_paused: bool = False
    """Whether the walk rests after it."""
    confirmed: tuple[int, int] | None = None
    """The first and the last step that were confirmed, where any were."""
    is_mistake: bool = False
    """Whether the weaver said that something is wrong."""


class PastSitting(NamedTuple):
    """One person or several at the loom without leaving off."""

    first_at: float
    weavers: tuple[str, ...]
    """In the order they came; "" where nobody was named."""
    seconds: float
    """At work: without pauses and long gaps."""


class WorkTime(NamedTuple):
    """The time at work before a moment of a sitting, since the one before it."""

    seconds: float
    after: Moment


class Forecast(NamedTuple):
    """How long the rest of a stage takes, in seconds at work, if all goes on as it went."""

    least: float
    """At the pace of the quickest part so far."""
    most: float
    """At the pace of the slowest."""


def sittings(moments: Sequence[Moment]) -> tuple[PastSitting, ...]:
    """Return the sittings in order."""
    found = []
    for sitting in _by_sitting(moments):
        weavers = dict.fromkeys(moment.weaver for moment in sitting)
        seconds = sum(each.seconds for each in _at_work(sitting))
        found.append(PastSitting(sitting[0].at, tuple(weavers), seconds))
    return tuple(found)


def work(moments: Sequence[Moment]) -> Iterator[WorkTime]:
    """Yield every stretch between two moments with the time at work in it, 0 where it rested."""
    for sitting in _by_sitting(moments):
        yield from _at_work(sitting)


def _by_sitting(moments: Iterable[Moment]) -> list[list[Moment]]:
    found: list[list[Moment]] = []
    for moment in moments:
        if moment.is_opening or not found:
            found.append([])
        found[-1].append(moment)
    return found


def _at_work(sitting: Sequence[Moment]) -> Iterator[WorkTime]:
    for before, after in pairwise(sitting):
        seconds = after.at - before.at
        is_work = 0 <= seconds <= GAP_SECONDS and not before.is_paused
        yield WorkTime(seconds if is_work else 0.0, after)


def an_hour(steps: int, amount: int, seconds: float) -> int | None:
    """Return the amount done in an hour; None where steps are too few, or no hand's work."""
    if steps < ENOUGH_STEPS or seconds < steps * LEAST_SECONDS:
        return None
    return round(amount * HOUR / seconds)


def step_seconds(stage: str, stretches: Iterable[WorkTime]) -> tuple[float, ...]:
    """Return the time at work for each step of a stage now confirmed for the first time.

    Time spent on going back and doing over belongs to the next new step: it is part of the pace.
    Steps confirmed at one go share their time.
    """
    found: list[float] = []
    spent = 0.0
    for seconds, after in stretches:
        if after.stage != stage:
            continue
        spent += seconds
        new = after.position - len(found)
        if new > 0:
            found += [spent / new] * new
            spent = 0.0
    return tuple(found)


def forecast(steps: Sequence[float], left: int) -> Forecast | None:
    """Return the time at work for `left` more steps; None where too few were done, or by no hand.

    The seconds of the steps so far are cut in five parts one after another; the quickest and the
    slowest part give the range. Were the parts independent, each would be above the middle of what
    they are drawn from with a chance of one half, so that the range misses it once in 16 times,
    2 / 2**5.
    """
    if len(steps) < ENOUGH_STEPS:
        return None
    bounds = [len(steps) * part // PARTS for part in range(PARTS + 1)]
    means = [sum(steps[first:last]) / (last - first) for first, last in pairwise(bounds)]
    if min(means) < LEAST_SECONDS:
        return None
    return Forecast(min(means) * left, max(means) * left)
