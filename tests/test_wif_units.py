"""Repeats found in threadings that name none."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.plan.draft.draft import Unit, repeat_units, shortest_period

threadings = st.lists(st.integers(1, 3), min_size=1, max_size=30)


@settings(deadline=None)
@given(threadings)
def test_period_is_the_shortest_that_fits(shafts: list[int]) -> None:
    """The linear search finds what trying every period finds."""
    tried = next(
        period
        for period in range(1, len(shafts) + 1)
        if all(one == other for one, other in zip(shafts, shafts[period:], strict=False))
    )
    assert shortest_period(shafts) == tried


@settings(deadline=None)
@given(st.lists(st.integers(1, 4), min_size=2, max_size=12), st.integers(2, 6), st.integers(0, 11))
def test_units_cover_every_place_once(shafts: list[int], times: int, more: int) -> None:
    """Units follow one another without gap, and all whole ones hold the same shafts."""
    threading = shafts * times + shafts[: more % len(shafts)]
    units = repeat_units(threading)
    places = [place for unit in units for place in range(unit.first, unit.last + 1)]
    assert places == list(range(1, len(threading) + 1))
    assert [unit.number for unit in units] == list(range(1, len(units) + 1))
    whole = {tuple(threading[unit.first - 1 : unit.last]) for unit in units[:-1]}
    assert len(whole) <= 1


@pytest.mark.parametrize(
    ("shafts", "lengths"),
    [
        ([1, 2, 3, 4] * 3, [4, 4, 4]),
        ([1, 2, 3, 4, 3, 2] * 2 + [1], [6, 6, 1]),
        ([1, 2] * 4, [2, 2, 2, 2]),
        ([1, 2, 3, 4, 3, 2, 1], [7]),
        ([1, 2, 3, 1, 2], [5]),
        ([1, 1, 1, 1], [4]),
        ([2], [1]),
        ([], []),
    ],
    ids=[
        "straight",
        "point, balanced",
        "two shafts",
        "once",
        "not twice",
        "one shaft",
        "one",
        "none",
    ],
)
def test_units_of_common_threadings(shafts: list[int], lengths: list[int]) -> None:
    """A repeat must stand twice whole; the rest of it, or a threading without, is one unit."""
    assert [unit.last - unit.first + 1 for unit in repeat_units(shafts)] == lengths


def test_units_carry_no_name() -> None:
    """A file without repeats has no names to give; each pass counts as a repeat."""
    assert repeat_units([1, 2, 3] * 2) == (Unit("", 1, 1, 1, 3), Unit("", 2, 2, 4, 6))
