"""How many ends a plan asks for, and how heddles and ends relate.

One place of a threading is one heddle. The first and last heddles may hold two ends each, so a
warp of P places with D doubled heddles on each side has P + 2 x D threaded ends. Floating
selvedges are in the reed alone and come on top of both.
"""

import math
from fractions import Fraction

from companion.plan.schema import PlanFile


def asked_ends(plan: PlanFile) -> int | None:
    """Return the threaded ends a plan asks for, floating selvedges not counted.

    They are `warp.ends`, or `warp.width` times the sett rounded to the nearest whole number (a half
    rounds up), or None where the threading decides.
    """
    warp = plan.warp
    if warp.width is None:
        return warp.ends
    return math.floor(plan.inches(warp.width) * warp.sett + Fraction(1, 2))


def threaded_ends(places: int, doubled: int) -> int:
    """Return the ends in the heddles, from the number of heddles and of doubled ones a side."""
    return places + 2 * doubled
