"""How the ends lie in the reed, beside published charts and figures computed by hand."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_plans import make_plan, plans, straight, untimed

from companion.job import stage
from companion.loom import sley as sleying
from companion.loom.check import contradictions
from companion.loom.compute import compute
from companion.loom.spread import even_pattern, lay, spaces_needed, written_pattern
from companion.out.report import report
from companion.wording.notes import step_note as render_note
from companion.wording.remarks import told

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

# "Reed Substitution Guide", houseofwool.ca: order, then the sett it prints for reeds of
# 8, 10, 12 and 15 dents per inch. Cells marked None are misprints there, more than half an end off.
HOUSE_OF_WOOL: list[tuple[tuple[int, ...], tuple[int | Fraction | None, ...]]] = [
    ((0, 1), (4, 5, 6, Fraction("7.5"))),
    ((0, 1, 1), (5, 7, 8, 10)),
    ((0, 1, 1, 1), (6, Fraction("7.5"), 9, 11)),
    ((1,), (8, 10, 12, 15)),
    ((1, 1, 1, 2), (10, Fraction("12.5"), 15, 19)),
    ((1, 1, 2), (11, Fraction("13.5"), 16, 20)),
    ((1, 2), (12, 15, 18, Fraction("22.5"))),
    ((1, 2, 2), (13, 17, 20, 25)),
    ((1, 2, 2, 2), (14, Fraction("17.5"), 21, 26)),
    ((2,), (16, 20, 24, 30)),
    ((2, 2, 2, 3), (18, Fraction("22.5"), 27, 34)),
    ((2, 2, 3), (19, None, 28, 35)),
    ((2, 3), (20, 25, 30, Fraction("37.5"))),
    ((2, 3, 3), (Fraction("21.5"), 27, 32, 40)),
    ((3,), (24, 30, 36, 45)),
    ((3, 4), (28, 35, 42, Fraction("52.5"))),
]

# Computed by hand as ends / dents x reed, the formula that "Reed Substitution Chart",
# schoolofsweetgeorgia.com, prints (there rounded to a half, here exact): reed, order, sett.
EXACT_ROWS = [
    (5, "1-2", "15/2"),
    (5, "2-3", "25/2"),
    (6, "1-2", "9"),
    (6, "1-2-2", "10"),
    (6, "3-3-4", "20"),
    (8, "1-1-1-2", "10"),
    (8, "3-4", "28"),
    (10, "1-1-1-1-2", "12"),
    (10, "1-1-2", "40/3"),
    (10, "1-2-2", "50/3"),
    (10, "1-2-2-2-2", "18"),
    (10, "2-2-2-2-3", "22"),
    (10, "2-2-3-2-3", "24"),
    (10, "2-3-3-3-3", "28"),
    (12, "1-2-2", "20"),
    (12, "2-3-3", "32"),
    (12, "4", "48"),
    (15, "1-1-1-1-2", "18"),
    (15, "1-2-1-2-2", "24"),
    (15, "2-2-3-2-3", "36"),
    (20, "3", "60"),
]


def test_published_chart_gives_the_same_orders() -> None:
    """Each chart cell's order comes back, turned round at most, from the sett it truly makes."""
    for order, setts in HOUSE_OF_WOOL:
        for reed, printed in zip((8, 10, 12, 15), setts, strict=True):
            exact = Fraction(sum(order) * reed, len(order))
            assert printed is None or abs(exact - printed) <= Fraction(1, 2)
            pattern = even_pattern(exact / reed)
            assert tuple(sorted(pattern)) == tuple(sorted(order))


@pytest.mark.parametrize(("dents", "order", "sett"), EXACT_ROWS)
def test_exact_setts_give_the_order_written_in_charts(dents: int, order: str, sett: str) -> None:
    """The computed order is the chart's own, end for end, where no dent stays empty."""
    plan = make_plan(straight(400), sett=Fraction(sett), dents=dents, reed_width=100)
    assert "-".join(map(str, sleying.sley(plan).pattern)) == order


@pytest.mark.parametrize(
    ("sett", "dents", "published"),
    [
        # "Sleying the Reed for Specific Setts", interweave.com.
        (16, 12, (2, 1, 1)),
        (16, 10, (2, 1, 2, 1, 2, 1, 2, 1, 2, 2)),
        # Peggy Osterkamp, "Useful Information: More Charts" (2023), peggyosterkamp.com.
        (10, 8, (1, 1, 1, 2)),
        # "8/2 Cotton in an 8-dent Reed", interweave.com.
        (20, 8, (3, 2)),
    ],
)
def test_published_answers_hold_as_many_ends(
    sett: int, dents: int, published: tuple[int, ...]
) -> None:
    """Weavers' printed answers and ours hold equally many ends and no dent outside theirs."""
    counts = sleying.sley(make_plan(straight(400), sett=sett, dents=dents, reed_width=100)).counts
    ours = counts[: len(published)]
    assert sum(ours) == sum(published)
    assert set(ours) == set(published)


def test_twelve_to_the_inch_in_a_ten_dent_reed_is_exact() -> None:
    """Osterkamp's chart settles for 12 1/2 ends (1-1-1-2); the exact order is one dent longer."""
    plan = make_plan(straight(120), sett=12, dents=10)
    assert sleying.sley(plan).pattern == (1, 1, 1, 1, 2)
    assert sleying.sley(plan).width == 10


class Worked(NamedTuple):
    """A warp computed by hand: width = ends / sett, dents = width x reed, the rest halved."""

    ends: int
    sett: int
    reed_width: int
    dents: int
    pattern: tuple[int, ...]
    used: int
    width: Fraction
    empty: tuple[int, int]


@pytest.mark.parametrize(
    "worked",
    [
        Worked(480, 20, 36, 12, (1, 2, 2), 288, Fraction(24), (72, 72)),
        Worked(481, 20, 36, 12, (1, 2, 2), 289, Fraction(289, 12), (71, 72)),
        Worked(400, 20, 32, 10, (2,), 200, Fraction(20), (60, 60)),
        Worked(225, 15, 36, 10, (1, 2), 150, Fraction(15), (105, 105)),
        Worked(240, 10, 24, 8, (1, 1, 1, 2), 192, Fraction(24), (0, 0)),
        Worked(300, 12, 40, 8, (1, 2), 200, Fraction(25), (60, 60)),
    ],
)
def test_warp_is_centred_in_the_reed(worked: Worked) -> None:
    """Dents used, width and empty dents at both edges are those of the worked examples."""
    plan = make_plan(
        straight(worked.ends), sett=worked.sett, dents=worked.dents, reed_width=worked.reed_width
    )
    sley = sleying.sley(plan)
    assert sley.pattern == worked.pattern
    assert len(sley.counts) == worked.used
    assert sley.width == worked.width
    assert (sley.empty_before, sley.empty_after) == worked.empty
    assert sley.first_dent == worked.empty[0] + 1


def test_a_balancing_end_lies_alone_in_the_last_dent() -> None:
    """481 ends at 1-2-2 end with one end by itself (computed by hand)."""
    sley = sleying.sley(make_plan(straight(481), sett=20, dents=12, reed_width=36))
    assert sley.counts[-4:] == (1, 2, 2, 1)


@pytest.mark.parametrize(
    ("per_10cm", "per_inch"),
    [  # Computed by hand: x 25.4 / 100; an inch is 25.4 mm exactly.
        (20, "5.08"),
        (25, "6.35"),
        (30, "7.62"),
        (40, "10.16"),
        (45, "11.43"),
        (50, "12.70"),
        (60, "15.24"),
        (125, "31.75"),
    ],
)
def test_metric_reeds_are_exact(per_10cm: int, per_inch: str) -> None:
    """A metric reed's gauge is not the round figure that "Converting Metric Reeds to Inches"
    (interweave.com) gives as a rule of thumb."""
    plan = make_plan(
        straight(8), sett=Fraction(per_inch), dents=None, reed={"dents_per_10cm": per_10cm}
    )
    assert compute(plan).dents_per_inch == Fraction(per_inch)


def test_three_hundred_dents_of_a_metric_reed_are_not_25_inches() -> None:
    """300 dents of 50 in 10 cm are 60 cm, 23.62 inches; the rule of thumb would say 25."""
    plan = make_plan(straight(300), sett="12.7", dents=None, reed={"dents_per_10cm": 50})
    sley = sleying.sley(plan)
    assert len(sley.counts) == 300
    assert sley.width == Fraction(60) / Fraction("2.54")


def test_floating_selvedges_have_dents_of_their_own() -> None:
    """Two ends more and two dents more, one at each edge, outside the order."""
    plan = make_plan(straight(20), selvedges={"floating": 1})
    sley = sleying.sley(plan)
    assert sley.counts == (1, *[2] * 10, 1)
    assert sley.body == (2,) * 10
    assert sley.empty_before + sley.empty_after == 400 - 12


def test_an_order_with_empty_dents_ends_on_an_end() -> None:
    """5 ends to the inch in a 10-dent reed skip every other dent and use no dent after the last."""
    sley = sleying.sley(make_plan(straight(4), sett=5))
    assert sley.counts == (1, 0, 1, 0, 1, 0, 1)
    assert sley.empty_before + sley.empty_after == 400 - 7


def test_a_written_order_is_kept() -> None:
    """The weaver's own order stands, though the computed one would be 1-2-1-2-2."""
    plan = make_plan(straight(16), sett=16, reed={"sley": "2-1-2-1-2"})
    assert sleying.sley(plan).counts == (2, 1, 2, 1, 2) * 2


def test_a_written_order_that_starts_empty_starts_on_an_end() -> None:
    """The reed is empty before the warp in any case, so "0-1-1" is 1-1-0 from the first end."""
    assert written_pattern("0-1-1") == (1, 1, 0)


def test_a_long_order_is_given_its_nearest_short_one() -> None:
    """20 ends an inch in a reed of 40 dents in 10 cm: 250 ends in 127 dents, near 2 in each."""
    plan = make_plan(straight(400), dents=None, reed={"dents_per_10cm": 40})
    (note,) = sleying.notes(plan)
    assert told(note) == (
        "The exact order of ends in the reed repeats only after 127 dents; the nearest short "
        "order is 2 in every dent, which makes 20.32 ends per inch."
    )


@pytest.mark.parametrize(("own", "notes"), [({"sley": "2"}, 0), ({}, 1)])
def test_a_long_order_is_told_of_regions_that_come_to_the_setts_own(
    own: dict[str, str], notes: int
) -> None:
    """A region with an order of its own needs no other; the mean of all of them is nobody's."""
    parts = [{"ends": 200, **own}, {"empty": 7}, {"ends": 200, "sley": "4-1"}]
    plan = make_plan(straight(400), dents=None, reed={"dents_per_10cm": 40, "parts": parts})
    assert len(sleying.notes(plan)) == notes


def test_a_short_order_needs_no_note() -> None:
    """Twelve dents can be kept in the head: 17 ends to the inch in a 12-dent reed."""
    plan = make_plan(straight(17), sett=17, dents=12)
    assert sleying.sley(plan).pattern == (1, 1, 2, 1, 2, 1, 1, 2, 1, 2, 1, 2)
    assert sleying.notes(plan) == []


def test_a_written_order_that_nearly_makes_the_sett_says_so() -> None:
    """2 in every dent of a reed of 40 in 10 cm makes 20.32, which passes for 20."""
    plan = make_plan(straight(8), dents="10.16", reed={"sley": "2"})
    assert [told(note) for note in sleying.notes(plan)] == [
        "The order 2 in this reed makes 20.32 ends per inch, near the 20 ends per inch planned."
    ]


@untimed
@given(st.fractions(Fraction(1, 24), 12, max_denominator=24))
def test_any_two_stretches_of_the_order_differ_by_one_end_at_most(per_dent: Fraction) -> None:
    """Evenness: no equally long stretch of dents holds two ends more than another."""
    pattern = even_pattern(per_dent)
    assert Fraction(sum(pattern), len(pattern)) == per_dent
    upto = [0, *accumulate(pattern * 3)]
    for length in range(1, len(pattern) * 2):
        sums = [upto[at + length] - upto[at] for at in range(len(upto) - length)]
        assert max(sums) - min(sums) <= 1


@untimed
@given(st.fractions(Fraction(1, 60), 12, max_denominator=60), st.integers(1, 300))
def test_dents_are_foretold_without_listing_them(per_dent: Fraction, ends: int) -> None:
    """The dents reckoned in advance are those laid, also where the order is cut off."""
    needed = spaces_needed(ends, per_dent)
    cut = lay(even_pattern(per_dent, ends), ends)
    assert len(cut) == needed
    assert cut == lay(even_pattern(per_dent), ends)
    assert sum(cut) == ends
    assert cut[0] > 0
    assert cut[-1] > 0


@untimed
@given(plans())
def test_a_warp_lies_centred_and_whole(plan: Plan) -> None:
    """Empty edges differ by one dent at most, the smaller first; nothing is lost or made up."""
    sley = compute(plan).sley
    assert sley.empty_after - sley.empty_before in (0, 1)
    assert sley.empty_before + len(sley.counts) + sley.empty_after == sley.reed_dents
    assert sum(sley.body) == len(compute(plan).ends)
    assert sley.counts[: sley.floating] == (1,) * sley.floating
    assert len(sley.counts) == sleying.dents_needed(plan)


def test_crammed_and_spaced_regions_by_hand() -> None:
    """8 ends one a dent, 2 dents empty, 9 ends four a dent, 1 empty, 3 ends one a dent: 8 + 2 + 3
    + 1 + 3 dents, the last crammed dent with 1 end. 20 ends over 17 dents of a tenth of an inch."""
    regions = [{"ends": 8}, {"empty": 2}, {"ends": 9, "sley": "4"}, {"empty": 1}, {"ends": 3}]
    plan = make_plan(
        straight(20), sett=10, dents=10, reed_width=4, reed={"parts": regions},
        selvedges={"floating": 1}, raddle={"sections_per_inch": 2},
    )  # fmt: skip
    dressing = compute(plan)
    assert dressing.sley.body == (1,) * 8 + (0, 0, 4, 4, 1, 0) + (1,) * 3
    assert dressing.sley.width == Fraction(19, 10)
    assert (dressing.sley.empty_before, dressing.sley.empty_after) == (10, 11)
    assert [region[:4] for region in dressing.sley.regions] == [
        (1, 8, 2, 9),
        (9, 17, 12, 14),
        (18, 20, 16, 18),
    ]
    assert [region.sett for region in dressing.sley.regions] == [10, 40, 10]
    mean = "Sett: 10 ends per inch; over all its regions about 11.76 ends per inch."
    assert mean in report(dressing)  # 20 ends in 17 dents
    assert dressing.raddle is not None
    assert dressing.raddle.counts == (5, 3, 10, 2)
    sleying_stage = stage(dressing, "sley")
    assert [group.expected for group in sleying_stage.groups] == [9, 7]
    told = [render_note(step, sleying_stage) for step in sleying_stage.steps]
    assert "Then 4 ends in each dent, for 9 ends." in told[8]
    assert "Then 1 end in each dent, for 3 ends." in told[11]


@pytest.mark.parametrize(
    ("regions", "fault"),
    [
        ([{"ends": 19}], "expected regions for 20 ends in the heddles, and they come to 19"),
        ([{"ends": 20}, {"empty": 3}], "expected ends at both edges, and 3 empty dents there"),
    ],
)
def test_regions_that_cannot_be_laid(regions: list[dict[str, int]], fault: str) -> None:
    """They must come to the ends, and begin and end with some."""
    plan = make_plan(straight(20), reed={"parts": regions})
    assert [problem.fault for problem in contradictions(plan)] == [fault]


def test_regions_of_a_sett_far_too_wide_are_told_at_once() -> None:
    """A slip in the sett asks for a million million dents; none of them is written out."""
    plan = make_plan(
        straight(20), sett="1/1000000", dents=1_000_000, reed={"parts": [{"ends": 20}]}
    )
    [problem] = contradictions(plan)
    assert "20 ends take" in problem.fault
