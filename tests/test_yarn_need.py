"""The yarn that warp and weft take, against worked examples."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.yarn.counts import KILOGRAMS_PER_POUND, METRES_PER_YARD, YarnError, read_size
from companion.yarn.need import METRES_PER_INCH, need, picks_in, read_package, shared, weft_length

COTTON = read_size("8/2 cotton")
metres = st.fractions(Fraction(1, 100), 10**6, max_denominator=100)


def test_a_tablecloth_warp_weighs_what_its_weaver_reckoned() -> None:
    """jeanweaves.com, 7 January 2014: 2304 ends of 7.5 yd are 17,280 yd, 2.057 lb at 8400 yd/lb."""
    yards = 2304 * Fraction("7.5")
    assert yards == 17_280
    needed = need(yards * METRES_PER_YARD, read_size("8400 yd/lb"))
    assert round(float(needed.kilograms / KILOGRAMS_PER_POUND), 3) == 2.057


def test_a_runner_warp_at_its_true_length() -> None:
    """allfiberarts.com, "Calculate yarn": 390 ends at 3.5 yd are 1365 yd; at 128 in, 1386.7."""
    assert 390 * Fraction("3.5") == 1365
    needed = need(390 * 128 * METRES_PER_INCH, COTTON)
    assert round(float(needed.metres / METRES_PER_YARD), 1) == 1386.7


def test_a_scarf_warp_in_yards() -> None:
    """sparksearcher.livejournal.com/152462: 56 ends of 90 in are 5,040 in, 140 yd."""
    assert need(56 * 90 * METRES_PER_INCH, COTTON).metres / METRES_PER_YARD == 140


def test_a_cloak_weft_in_yards() -> None:
    """M. Powell, thewefthandedweaver.com, 14 April 2010: 10 yd at 10 picks, 45 in wide: 4500 yd."""
    picks = picks_in(Fraction(360), Fraction(10))
    assert picks == 3600
    assert weft_length(picks, Fraction(45), Fraction(0)) / 36 == 4500


def test_a_weft_in_metres() -> None:
    """creative-threads.co.uk, "Calculating weft yarn quantity": 8 picks per cm, 220 cm, 0.55 m.

    Its 10 % is added to length and width, so those are taken as it has them: 1760 picks, 968 m.
    """
    picks = picks_in(Fraction(220), Fraction(8))
    assert picks == 1760
    assert weft_length(picks, Fraction("0.55"), Fraction(0)) == 968


def test_weft_take_up_is_divided_too() -> None:
    """A tenth of the weft in its bends leaves nine tenths to span the reed."""
    assert weft_length(90, Fraction(10), Fraction(1, 10)) == 1000


def test_what_is_over_is_over_before_packages_are_counted() -> None:
    """3360 yd of 8/2 cotton weigh one pound: two cones of 8 oz, three with 1 % over."""
    pound = 3360 * METRES_PER_YARD
    cone = read_package("8 oz")
    assert need(pound, COTTON, package=cone).kilograms == KILOGRAMS_PER_POUND
    assert need(pound, COTTON, package=cone).packages == 2
    assert need(pound, COTTON, extra=Fraction(1, 100), package=cone).packages == 3


@pytest.mark.parametrize(
    ("text", "packages"),
    [("1 lb", 1), ("3360 yd", 1), ("1 kg", 1), ("250 g", 2), ("100 g", 5), ("1000 m", 4)],
)
def test_packages_by_weight_and_by_length(text: str, packages: int) -> None:
    """One pound, 453.6 g or 3072.4 m of it, in whole packages."""
    assert need(3360 * METRES_PER_YARD, COTTON, package=read_package(text)).packages == packages


@pytest.mark.parametrize(
    "text", ["250", "g", "0 g", "250 grams", "1/2 lb", "-8 oz", "", "8 oz each"]
)
def test_a_package_without_a_measure_is_refused(text: str) -> None:
    """One plain line."""
    with pytest.raises(YarnError, match="250 g"):
        read_package(text)


@given(metres, metres, st.integers(1, 10**6))
def test_packages_hold_what_is_needed_and_one_less_does_not(
    length: Fraction, other: Fraction, hundredths: int
) -> None:
    """Rounding up, by weight as by length; a longer need never takes fewer."""
    package = read_package(f"{hundredths / 100:.2f} g")
    assert package.kilograms is not None
    needed = need(length, COTTON, package=package)
    assert needed.packages is not None
    held = needed.packages * package.kilograms
    assert held - package.kilograms < needed.kilograms <= held
    more = need(length + other, COTTON, package=package)
    assert more.packages is not None
    assert more.packages >= needed.packages


@given(st.integers(1, 10**6), st.lists(st.integers(1, 100), min_size=1, max_size=6))
def test_wefts_share_all_picks(picks: int, shares: list[int]) -> None:
    """Each has its share rounded up, so that together they never fall short."""
    turns = shared(picks, shares)
    assert picks <= sum(turns) < picks + len(shares)
    for turn, share in zip(turns, shares, strict=True):
        assert turn - 1 < Fraction(picks * share, sum(shares)) <= turn


def test_picks_begun_are_counted() -> None:
    """Half a pick is a pick."""
    assert picks_in(Fraction("10.05"), Fraction(10)) == 101
