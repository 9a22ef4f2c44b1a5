"""How the ends spread in the raddle, beside examples computed by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from small_plans import make_plan, plans, straight, untimed

from companion.loom.compute import compute
from companion.loom.dressing import RaddlePlan
from companion.loom.raddle import raddle

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
    assert raddle(plan) == RaddlePlan((10,) * 48, 12, 12)


def test_an_odd_empty_section_goes_to_the_far_side() -> None:
    """47 sections of 72 leave 12 and 13, the smaller at the first end's edge."""
    spread = raddle(make_plan(straight(470), raddle={"sections_per_inch": 2, "width": 36}))
    assert spread is not None
    assert (spread.empty_before, spread.empty_after) == (12, 13)


def test_an_unknown_width_is_not_centred() -> None:
    """Without the raddle's width nothing is said of empty sections."""
    assert raddle(make_plan(straight(20), raddle={"sections_per_inch": 1})) == RaddlePlan(
        (20,), None, None
    )


def test_no_raddle_is_no_plan_for_one() -> None:
    """A warp beamed without a raddle has no sections."""
    assert raddle(make_plan(straight(20))) is None


def test_a_metric_raddle_is_exact() -> None:
    """8 ends in a cm and one section in a cm are 8 in each, whatever the reed's unit."""
    plan = make_plan(
        straight(160), sett=None, warp={"ends_per_cm": 8}, raddle={"sections_per_cm": 1}
    )
    assert raddle(plan) == RaddlePlan((8,) * 20, None, None)


def test_doubled_ends_are_in_the_raddle_and_floating_selvedges_are_not() -> None:
    """20 heddles, two of them at each edge doubled, and a floating end each side: 24 to spread."""
    plan = make_plan(
        straight(20), raddle={"sections_per_inch": 2}, selvedges={"doubled": 2, "floating": 1}
    )
    assert raddle(plan) == RaddlePlan((10, 10, 4), None, None)


@untimed
@given(plans())
def test_every_threaded_end_is_in_the_raddle_once(plan: Plan) -> None:
    """The sections together hold the threaded ends, and the last of them is not empty."""
    dressing = compute(plan)
    assert dressing.raddle is not None
    assert sum(dressing.raddle.counts) == len(dressing.ends)
    assert dressing.raddle.counts[-1] > 0
