"""How the ends spread in the raddle, beside examples computed by hand.

A section holds the ends of an inch over the sections of an inch, and the last one the rest; that
the sections used lie in the middle of the raddle is common practice, no source.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import accumulate
from math import floor
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_plans import make_plan, plans, straight, untimed

from companion.loom.compute import compute
from companion.loom.dressing import RaddlePlan
from companion.loom.raddle import raddle
from companion.out.report import report

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


@pytest.mark.parametrize(
    ("ends", "sett", "per_inch", "share", "expected"),
    [  # Computed by hand: share = sett / sections per inch; then the sections and the last one.
        (480, 20, 2, (10, 10), (48, 10)),
        (225, 15, 2, (7, 8, 7, 8), (30, 8)),
        (300, 12, 2, (6, 6), (50, 6)),
        (390, 18, 2, (9, 9), (44, 3)),
        (96, 24, 4, (6, 6), (16, 6)),
    ],
)
def test_sections_hold_their_share(
    ends: int, sett: int, per_inch: int, share: tuple[int, ...], expected: tuple[int, int]
) -> None:
    """Fractional shares alternate evenly and the last section takes what is left over."""
    plan = make_plan(straight(ends), sett=sett, raddle={"sections_per_inch": per_inch})
    spread = raddle(plan)
    assert spread is not None
    assert spread.counts[: len(share)] == share
    assert (len(spread.counts), spread.counts[-1]) == expected
    assert sum(spread.counts) == ends


def test_a_known_width_centres_the_sections() -> None:
    """48 sections in a raddle of 72 (36 inches) leave 12 at each side (computed by hand)."""
    plan = make_plan(straight(480), raddle={"sections_per_inch": 2, "width": 36})
    assert raddle(plan) == RaddlePlan((10,) * 48, 12, 12, 24)


def test_an_odd_empty_section_goes_to_the_far_side() -> None:
    """47 sections of 72 leave 12 and 13, the smaller at the first end's edge."""
    spread = raddle(make_plan(straight(470), raddle={"sections_per_inch": 2, "width": 36}))
    assert spread is not None
    assert (spread.empty_before, spread.empty_after) == (12, 13)


def test_a_last_section_that_is_hardly_filled_does_not_draw_the_warp_aside() -> None:
    """152 ends at 15 to the inch are 10 2/15 inches, 20 4/15 half inches: 10 2/15 on each side.

    So end 1 begins 10 sections before the centre, 26 of 72 empty before it (computed by hand).
    """
    whole = make_plan(straight(152), sett=15, raddle={"sections_per_inch": 2, "width": 36})
    spread = raddle(whole)
    assert spread is not None
    assert spread.counts[-2:] == (8, 2)
    assert (spread.empty_before, len(spread.counts), spread.empty_after) == (26, 21, 25)
    assert spread.half == 10


def test_an_unknown_width_is_not_centred() -> None:
    """Without the raddle's width nothing is said of empty sections."""
    assert raddle(make_plan(straight(20), raddle={"sections_per_inch": 1})) == RaddlePlan(
        (20,), None, None, 1
    )


def test_no_raddle_is_no_plan_for_one() -> None:
    """A warp beamed without a raddle has no sections."""
    assert raddle(make_plan(straight(20))) is None


def test_a_metric_raddle_is_exact() -> None:
    """8 ends in a cm and one section in a cm are 8 in each, whatever the reed's unit."""
    plan = make_plan(
        straight(160), sett=None, warp={"ends_per_cm": 8}, raddle={"sections_per_cm": 1}
    )
    assert raddle(plan) == RaddlePlan((8,) * 20, None, None, 10)


def test_doubled_ends_are_in_the_raddle_and_floating_selvedges_are_not() -> None:
    """20 heddles, two of them at each edge doubled, and a floating end each side: 24 to spread."""
    plan = make_plan(
        straight(20), raddle={"sections_per_inch": 2}, selvedges={"doubled": 2, "floating": 1}
    )
    assert raddle(plan) == RaddlePlan((10, 10, 4), None, None, 1)


@untimed
@given(plans())
def test_every_threaded_end_is_in_the_raddle_once(plan: Plan) -> None:
    """The sections together hold the threaded ends, and the last of them is not empty."""
    dressing = compute(plan)
    assert dressing.raddle is not None
    assert sum(dressing.raddle.counts) == len(dressing.ends)
    assert dressing.raddle.counts[-1] > 0


@untimed
@given(st.integers(1, 400), st.integers(2, 8), st.fractions(4, 30, max_denominator=4))
def test_ends_wound_together_keep_up_with_the_width(
    ends: int, together: int, share: Fraction
) -> None:
    """Up to any section there are the bundles nearest to its share, and in the first one some.

    Common practice, no source: a spread that lags behind is pulled inwards at the beam.
    """
    plan = make_plan(
        straight(ends),
        sett=share,
        raddle={"sections_per_inch": 1},
        warp={"wound_together": together},
        reed_width=1000,
    )
    spread = raddle(plan)
    assert spread is not None
    assert sum(spread.counts) == ends
    laid = [0, *accumulate(spread.counts)]
    for section, before in enumerate(laid[:-1]):
        nearest = together * floor(Fraction(section) * share / together + Fraction(1, 2))
        assert before == nearest or section == 1


def test_three_ends_a_section_wound_four_together() -> None:
    """4, 8, 8, 12 up to each section are the nearest to 3, 6, 9, 12 that whole bundles come."""
    plan = make_plan(
        straight(12), sett=3, raddle={"sections_per_inch": 1}, warp={"wound_together": 4}
    )
    assert raddle(plan) == RaddlePlan((4, 4, 0, 4), None, None, 2)


@pytest.mark.parametrize(("ends", "told"), [(8, "1 section from"), (40, "4 sections from")])
def test_one_of_a_thing_is_told_as_one(ends: int, told: str) -> None:
    """Numbers and their nouns agree in the report."""
    plan = make_plan((1, *straight(ends - 1)[1:]), sett=10, raddle={"sections_per_inch": 1})
    lines = list(report(compute(plan)))
    assert any(told in line for line in lines)
    assert not re.search(r"\b1 (heddles|sections|stripes|picks|inches)\b", "\n".join(lines))


@pytest.mark.parametrize(
    ("ends", "sett", "told"),
    [
        (152, 15, "21 sections from the right: 10 times (7, 8), 1 of 2 ends."),
        (480, 20, "48 sections from the right: 48 of 10 ends."),
        (390, 18, "44 sections from the right: 43 of 9, 1 of 3 ends."),
    ],
)
def test_sections_that_come_again_are_told_once(ends: int, sett: int, told: str) -> None:
    """Sixty numbers in a row are for nobody's ear."""
    plan = make_plan(straight(ends), sett=sett, raddle={"sections_per_inch": 2})
    assert f"Raddle: {told}" in list(report(compute(plan)))
