"""Repeats found in a row of picks, so that a sheet need not write each of them out."""

from collections.abc import Iterator
from typing import NamedTuple

from companion.base.runs import repeat_from
from companion.plan.draft.draft import shortest_period

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


def repeat_of(picks: Picks) -> Picks:
    """Return the shortest run that, repeated whole, gives all the picks."""
    size = shortest_period(picks)
    return picks[:size] if len(picks) % size == 0 else picks


def runs_of(picks: Picks) -> Iterator[RepeatedPicks]:
    """Yield runs that give all the picks in order; what does not repeat comes in eights."""
    at = plain = 0
    while at < len(picks):
        size, times = repeat_from(picks, at, LONGEST_RUN)
        if times == 1 or size * times < LEAST_COVER:
            at += 1
            continue
        yield from _plain(picks[plain:at])
        yield RepeatedPicks(picks[at : at + size], times)
        at = plain = at + size * times
    yield from _plain(picks[plain:])


def _plain(picks: Picks) -> Iterator[RepeatedPicks]:
    for at in range(0, len(picks), PICKS_A_LINE):
        yield RepeatedPicks(picks[at : at + PICKS_A_LINE], 1)
