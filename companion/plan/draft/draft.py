"""A draft: what is threaded, tied and treadled, with every repeat written out."""

from __future__ import annotations

from typing import NamedTuple

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
