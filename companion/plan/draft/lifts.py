"""Which shafts move and which are lifted in each pick, from tie-up and treadling or a lift plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.plan.draft.draft import Draft

Shafts = frozenset[int]


def tied_shafts(
    treadles: Sequence[tuple[int, ...]], picks: Sequence[tuple[int, ...]]
) -> tuple[Shafts, ...]:
    """Return for each pick the shafts tied to any of its treadles, all of which exist."""
    nothing: Shafts = frozenset()
    tied = {
        pick: nothing.union(*(treadles[treadle - 1] for treadle in pick)) for pick in set(picks)
    }
    return tuple(tied[pick] for pick in picks)


def as_lifts(draft: Draft) -> Draft:
    """Return a draft with a lift plan in place of its treadles, for a loom that has none to tie."""
    if draft.lifts or not draft.picks:
        return replace(draft, treadles=(), picks=())
    lifts = tuple(tuple(sorted(lift)) for lift in lifted_shafts(draft))
    return replace(draft, treadles=(), picks=(), lifts=lifts)


def lifted_shafts(draft: Draft) -> tuple[Shafts, ...]:
    """Return for each pick which of the shafts threaded stand above the shuttle.

    A lift plan is taken as it stands, where there is one. In a sinking shed the tied shafts go
    down, so the others are the upper ones.
    """
    threaded = frozenset(draft.shafts)
    if draft.lifts:
        lifted = {lift: threaded.intersection(lift) for lift in set(draft.lifts)}
        return tuple(lifted[lift] for lift in draft.lifts)
    moved = tied_shafts(draft.treadles, draft.picks)
    lifted_by = threaded.intersection if draft.is_rising_shed else threaded.difference
    return tuple(lifted_by(shafts) for shafts in moved)
