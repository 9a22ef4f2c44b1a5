"""How many ends the threading holds, and which heddles hold two of them."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from companion.plan.draft.ends import threaded_ends

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def ends_by_place(plan: Plan) -> list[int]:
    """Return the ends in each place's heddle: 2 where the selvedge is doubled, else 1."""
    places = len(plan.draft.shafts)
    doubled = plan.file.selvedges.doubled
    return [2] * doubled + [1] * (places - 2 * doubled) + [2] * doubled


def ends_in_heddles(plan: Plan) -> int:
    """Return the threaded ends; floating selvedges come on top."""
    return threaded_ends(len(plan.draft.shafts), plan.file.selvedges.doubled)


def ends_before_place(plan: Plan) -> list[int]:
    """Return how many ends lie before each place, and after the last entry all of them."""
    return [0, *accumulate(ends_by_place(plan))]
