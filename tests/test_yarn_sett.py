"""Setts against textbook tables and worked examples, and weaves against a plain count."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.loom.drawdown import drawdown
from companion.loom.yarns import weave_of
from companion.plan.draft.draft import Draft
from companion.yarn.counts import YarnError, read_size
from companion.yarn.sett import (
    PLAIN,
    USUAL_K,
    USUAL_SHARE,
    Weave,
    as_firm,
    closest_sett,
    mean_weave,
    read_weave,
    threads_side_by_side,
)

TWILL = read_weave("2/2")
setts = st.fractions(1, 200, max_denominator=100)
weaves = st.builds(Weave, st.integers(1, 64).map(Fraction), st.fractions(0, 64, max_denominator=50))


def draft(shafts: tuple[int, ...], treadles: tuple[tuple[int, ...], ...]) -> Draft:
    """Return a draft that presses each treadle once."""
    picks = tuple((treadle,) for treadle in range(1, len(treadles) + 1))
    return Draft(shafts, ("",) * len(shafts), (), treadles=treadles, picks=picks)


def test_eight_two_cotton_by_the_rule_with_nine_tenths() -> None:
    """faena.medievaltextiles.org/ash.html (1999): D 52, plain 26, 2/2 twill 34, cut off."""
    across = threads_side_by_side(read_size("8/2 cotton").yards_per_pound, USUAL_K)
    assert math.floor(across) == 52
    assert math.floor(closest_sett(across, PLAIN)) == 26
    assert math.floor(closest_sett(across, TWILL)) == 34
    assert Fraction(3, 4) == USUAL_SHARE


@pytest.mark.parametrize(
    ("count", "printed"),
    [(15, 106.5), (26, 140.5), (32, 156), (60, 213), (78, 243), (200, 390)],
)
def test_diameters_of_cotton_as_a_textbook_prints_them(count: int, printed: float) -> None:
    """J. T. Taylor, Cotton Weaving and Designing, 6th ed.: the root of the yards, less 5 per cent.

    The printed table is to the nearest half or whole and agrees within two parts in a thousand.
    """
    across = threads_side_by_side(Fraction(840 * count), Fraction(95, 100))
    assert float(across) == pytest.approx(printed, rel=2e-3)


def test_the_textbook_pair_of_diameters_in_the_ratio_of_one_to_two() -> None:
    """Taylor: 15's are four times as heavy as 60's and exactly twice as thick."""
    thick, fine = (threads_side_by_side(Fraction(840 * count)) for count in (15, 60))
    assert float(fine / thick) == pytest.approx(2, rel=1e-6)


@pytest.mark.parametrize(
    ("wraps", "weave", "sett"),
    [
        # aethelfliedbrewbane.wordpress.com, "Twill attempt, the first", 8 March 2017: half of 14.
        (14, "plain", Fraction(7)),
        # P. Osterkamp, "Ashenhurst's Rule", peggyosterkamp.com.
        (10, "plain", Fraction(5)),
        # Taylor: a 2/2 twill takes two thirds of the threads side by side, plain cloth half.
        (156, "2/2", Fraction(104)),
        (156, "plain", Fraction(78)),
    ],
)
def test_sett_from_wraps(wraps: int, weave: str, sett: Fraction) -> None:
    """Ends in the repeat over ends and crossings."""
    assert closest_sett(Fraction(wraps), read_weave(weave)) == sett


def test_changing_the_weave_keeps_the_cloth_as_firm() -> None:
    """Taylor: plain at 103 is 137 1/3 in 2/2 twill; 137 there is 146.79 with 16 crossings in 40."""
    assert as_firm(Fraction(103), PLAIN, TWILL) == Fraction(412, 3)
    wide = Weave(Fraction(40), Fraction(16))
    assert round(float(as_firm(Fraction(137), TWILL, wide)), 2) == 146.79


@given(setts, weaves, weaves)
def test_changing_the_weave_there_and_back_changes_nothing(
    sett: Fraction, old: Weave, new: Weave
) -> None:
    """The part of the closest sett stays the same, and so the way back is exact."""
    changed = as_firm(sett, old, new)
    assert as_firm(changed, new, old) == sett
    across = Fraction(50)
    assert changed / closest_sett(across, new) == sett / closest_sett(across, old)


@given(st.fractions(1, 10**6, max_denominator=1000), st.fractions(Fraction(1, 2), 1))
def test_the_root_is_right_to_a_millionth(yards: Fraction, k: Fraction) -> None:
    """Squaring it again, in exact numbers, stays just below."""
    across = threads_side_by_side(yards, k)
    assert across**2 <= k * k * yards < (across + Fraction(1, 10**6)) ** 2


@pytest.mark.parametrize(
    ("text", "ends", "crossings"),
    [
        ("plain", 2, 2),
        ("1/1", 2, 2),
        ("2/2", 4, 2),
        ("3/1", 4, 2),
        ("4/1", 5, 2),
        ("1/1/2/2", 6, 4),
    ],
)
def test_weaves_as_the_trade_writes_them(text: str, ends: int, crossings: int) -> None:
    """Ends over and under by turns."""
    assert read_weave(text) == Weave(Fraction(ends), Fraction(crossings))


@pytest.mark.parametrize(
    "text", ["", "2", "2/2/1", "0/2", "2/00", "twill", "2 2", "1/" * 200 + "1"]
)
def test_what_is_no_weave_is_refused(text: str) -> None:
    """One plain line with examples."""
    with pytest.raises(YarnError, match="2/2"):
        read_weave(text)


@pytest.mark.parametrize(
    ("shafts", "treadles", "written"),
    [
        ((1, 2, 3, 4) * 5, ((1, 2), (2, 3), (3, 4), (1, 4)), "2/2"),
        ((1, 2, 3, 4) * 5, ((1, 3), (2, 4)), "plain"),
        ((1, 2, 3, 4) * 5, ((1,), (2,), (3,), (4,)), "3/1"),
        ((1, 2, 3, 4, 5) * 4 + (1,), ((1,), (3,), (5,), (2,), (4,)), "4/1"),
    ],
)
def test_a_draft_knows_its_weave(
    shafts: tuple[int, ...], treadles: tuple[tuple[int, ...], ...], written: str
) -> None:
    """The drawdown of straight draws with textbook tie-ups has the same part of ends."""
    weave = weave_of(draft(shafts, treadles))
    assert weave is not None
    assert weave.ends_share == read_weave(written).ends_share


def test_a_draft_without_treadling_has_no_weave() -> None:
    """Threading alone does not say how the weft goes."""
    assert weave_of(Draft((1, 2), ("", ""), (), treadles=((1,), (2,)))) is None


@given(
    st.lists(st.integers(1, 4), min_size=1, max_size=12),
    st.lists(
        st.lists(st.integers(1, 4), unique=True, max_size=4).map(tuple), min_size=1, max_size=6
    ),
)
def test_crossings_agree_with_a_plain_count(
    shafts: list[int], treadles: list[tuple[int, ...]]
) -> None:
    """Counted end by end over the drawdown's own cells, the last end beside the first."""
    cloth = drawdown(draft(tuple(shafts), tuple(treadles)))
    changes = 0
    for pick in range(1, len(treadles) + 1):
        cells = [cloth.is_warp_up(pick, end) for end in range(1, len(shafts) + 1)]
        changes += sum(one != other for one, other in pairwise([*cells, cells[0]]))
    weave = mean_weave(cloth.rows, len(shafts))
    assert weave == Weave(Fraction(len(shafts)), Fraction(changes, len(treadles)))
    assert 0 < weave.ends_share <= 1
