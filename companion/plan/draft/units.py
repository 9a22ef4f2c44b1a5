"""Repeats found in a threading that names none."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from companion.plan.draft.draft import Unit

if TYPE_CHECKING:
    from collections.abc import Sequence


def shortest_period(shafts: Sequence[object]) -> int:
    """Return the least p > 0 with shafts[i] == shafts[i + p] wherever both exist.

    The last pass may be cut short, as in a point twill with one end to balance it. Linear time:
    the length less the longest border, by the failure function of Knuth, Morris and Pratt, "Fast
    Pattern Matching in Strings", SIAM Journal on Computing 6 (1977). 0 for no shafts.
    """
    borders = [0] * len(shafts)
    border = 0
    for index in range(1, len(shafts)):
        while border and shafts[index] != shafts[border]:
            border = borders[border - 1]
        border += shafts[index] == shafts[border]
        borders[index] = border
    return len(shafts) - border


def repeat_units(shafts: Sequence[Any]) -> tuple[Unit, ...]:
    """Return unnamed units: one for each pass of the repeat, or one unit where none repeats.

    A repeat counts where it stands at least twice whole and is longer than one end; what is left
    at the end of it is a unit of its own.
    """
    ends = len(shafts)
    period = shortest_period(shafts)
    if period <= 1 or ends < 2 * period:
        period = max(ends, 1)
    return tuple(
        Unit("", number, number, first + 1, min(first + period, ends))
        for number, first in enumerate(range(0, ends, period), 1)
    )
