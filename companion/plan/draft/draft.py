"""A draft: what is threaded, tied and treadled, with every repeat written out or found."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from companion.base.value import Value


class Unit(NamedTuple):
    """One pass of the smallest named part of a threading (a block, a run of shafts)."""

    name: str
    """What to call it: "block A", "rosepath", a part's own name, or "" for a bare run."""
    number: int
    """1-based running number over the whole threading."""
    repeat: int
    """1-based running number of the pass of the top-level part this unit lies in."""
    first: int
    """The first threading place (1-based, one place a heddle) of this unit."""
    last: int
    """The last threading place of this unit, inclusive."""


class Draft(Value):
    """A threading with what else a draft holds; place 1 is at the plan's first-end edge."""

    shafts: tuple[int, ...]
    """The shaft of each place, 1-based; one place is one heddle."""
    colours: tuple[str, ...]
    """The colour of each place; "" where none is named."""
    units: tuple[Unit, ...]
    """Units in order, covering every place once."""
    treadles: tuple[tuple[int, ...], ...] = ()
    """For each treadle the shafts tied to it, in rising order."""
    is_rising_shed: bool = True
    """Whether a tied shaft rises (True) or sinks (False) when the treadle is pressed."""
    picks: tuple[tuple[int, ...], ...] = ()
    """For each pick the treadles pressed together."""
    lifts: tuple[tuple[int, ...], ...] = ()
    """For each pick the shafts lifted, where the source gave a lift plan instead of treadles."""
    title: str = ""
    weft: tuple[str, ...] = ()
    """The colour of each pick, "" where none is named; () where the source names none."""
    pick_units: tuple[Unit, ...] = ()
    """Units of the treadling as the plan writes it, covering every pick once; () where the source
    has none."""

    @property
    def moves(self) -> tuple[tuple[int, ...], ...]:
        """For each pick the shafts lifted, or else the treadles pressed; () where none are."""
        return self.lifts or self.picks


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
