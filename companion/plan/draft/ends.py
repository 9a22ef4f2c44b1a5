"""How many ends a plan asks for, and how heddles and ends relate.

One place of a threading is one heddle. The first and last heddles may hold two ends each, so a
warp of P places with D doubled heddles on each side has P + 2 x D threaded ends. Floating
selvedges are in the reed alone and come on top of both.
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING

from companion.yarn.counts import CM_PER_INCH

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan
    from companion.plan.schema import PlanFile, Warp


def per_inch(by_inch: Fraction | None, by_metric: Fraction | None, cm: int = 1) -> Fraction:
    """Return by the inch what a plan gives by the inch, or else by so many centimetres."""
    return by_inch if by_inch is not None else (by_metric or Fraction(0)) * CM_PER_INCH / cm


def sett_per_inch(warp: Warp) -> Fraction:
    """Return the sett in ends per inch."""
    return per_inch(warp.ends_per_inch, warp.ends_per_cm)


def asked_ends(plan: PlanFile) -> int | None:
    """Return the threaded ends a plan asks for, floating selvedges not counted.

    They are `warp.ends`, or `warp.width` times the sett rounded to the nearest whole number (a half
    rounds up), or None where the threading decides.
    """
    warp = plan.warp
    if warp.width is None:
        return warp.ends
    inches = warp.width if plan.units == "inch" else warp.width / CM_PER_INCH
    return math.floor(inches * sett_per_inch(warp) + Fraction(1, 2))


def threaded_ends(places: int, doubled: int) -> int:
    """Return the ends in the heddles, from the number of heddles and of doubled ones a side."""
    return places + 2 * doubled


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
