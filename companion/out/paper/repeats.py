"""Repeats found in a row of picks, so that a sheet need not write each of them out."""

from collections.abc import Iterator
from typing import NamedTuple, TypeVar

from companion.base.runs import times_from
from companion.plan.draft.draft import shortest_period

T = TypeVar("T")

Picks = tuple[tuple[int, ...], ...]

PICKS_A_LINE = 8
"""Picks written together where nothing repeats."""
LONGEST_RUN = 24
"""Picks of the longest run looked for inside a treadling; more are hard to follow on one line."""
LEAST_COVER = 12
"""Fewer picks are as easily read written out."""


class RepeatedPicks(NamedTuple):
    """Picks, and how often they are woven one after the other."""

    picks: Picks
    times: int


def repeat_of(picks: tuple[T, ...]) -> tuple[T, ...]:
    """Return the shortest run that, repeated whole, gives all the picks, or things of any kind."""
    size = shortest_period(picks)
    return picks[:size] if len(picks) % size == 0 else picks


def runs_of(picks: Picks) -> Iterator[RepeatedPicks]:
    """Yield runs that give all the picks in order; what does not repeat comes in eights."""
    at = plain = 0
    while at < len(picks):
        run = _run_at(picks, at)
        if run is None:
            at += 1
            continue
        yield from _plain(picks[plain:at])
        yield run
        at = plain = at + len(run.picks) * run.times
    yield from _plain(picks[plain:])


def _plain(picks: Picks) -> Iterator[RepeatedPicks]:
    for at in range(0, len(picks), PICKS_A_LINE):
        yield RepeatedPicks(picks[at : at + PICKS_A_LINE], 1)


def _run_at(picks: Picks, at: int) -> RepeatedPicks | None:
    """Return the run from here on that covers most, the shortest of equals; None if none does."""
    sizes = range(1, min(LONGEST_RUN, (len(picks) - at) // 2) + 1)
    found = [(size * times_from(picks, at, size), -size) for size in sizes]
    cover, size = max(found, default=(0, -1))
    is_worth_it = cover >= LEAST_COVER and cover >= -2 * size
    return RepeatedPicks(picks[at : at - size], cover // -size) if is_worth_it else None
