"""The whole dressing: totals that reconcile, whatever is asked for."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from small_plans import make_plan, plans, straight, untimed

from companion.base.errors import PlanError
from companion.loom.compute import compute, read_and_compute
from companion.loom.dressing import End, Group, GroupName, NumberSpan
from companion.plan.file.reader import parse_plan
from companion.wording.remarks import told

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

NARROW_BAND = """\
title = "Narrow band"
[warp]
ends = 9
ends_per_inch = 15
[reed]
dents_per_inch = 10
width = 2
[loom]
shafts = 4
[selvedges]
floating = 1
doubled = 1
[blocks]
A = "1-2-3-4"
B = "4-3-2"
[[threading]]
block = "A"
colour = "indigo"
[[threading]]
block = "B"
colour = "white"
[groups]
by = "block"
size = 1
"""


def test_a_small_plan_is_dressed_end_by_end() -> None:
    """Every figure by hand: 7 heddles hold 9 ends, in dents 2 to 7 between the selvedges."""
    dressing = compute(parse_plan(NARROW_BAND, "band.toml"))
    assert dressing.ends == (
        End(1, 1, 1, 2, "indigo", 1),
        End(2, 1, 1, 3, "indigo", 1),
        End(3, 2, 2, 3, "indigo", 1),
        End(4, 3, 3, 4, "indigo", 1),
        End(5, 4, 4, 5, "indigo", 1),
        End(6, 4, 5, 5, "white", 2),
        End(7, 3, 6, 6, "white", 2),
        End(8, 2, 7, 7, "white", 2),
        End(9, 2, 7, 7, "white", 2),
    )
    assert dressing.groups == (
        Group(1, GroupName("block A", (NumberSpan("pattern", 1, 1),)), 1, 5),
        Group(2, GroupName("block B", (NumberSpan("pattern", 2, 2),)), 6, 9),
    )
    assert dressing.sley.counts == (1, 1, 2, 1, 2, 1, 2, 1)
    assert (dressing.sley.empty_before, dressing.sley.empty_after) == (6, 6)
    assert [row.needed for row in dressing.heddles] == [1, 2, 2, 2]
    assert dressing.sett == 15
    assert dressing.dents_per_inch == 10


def test_a_whole_warp_of_390_ends() -> None:
    """Sett 20 over 19.5 inches is 390 ends ("Beginner Weaving: Calculate Yarn", allfiberarts.com;
    its line prints 18 x 19.5, which would be 351)."""
    plan = parse_plan(
        'title = "Runner"\nwarp = {width = 19.5, ends_per_inch = 20}\n'
        "reed = {dents_per_inch = 10, width = 24}\nloom = {shafts = 4}\n"
        '[[threading]]\nends = "1-2-3-4"\ntimes = "fill"\n[[threading]]\nends = "1-2"\n',
        "runner.toml",
    )
    dressing = compute(plan)
    assert len(dressing.ends) == 390
    assert dressing.sley.width == Fraction("19.5")


def test_a_scarf_of_56_ends_in_an_8_dent_reed() -> None:
    """8 ends to the inch, one a dent, 7 inches: 56 ends ("Weaving Calculations for Balanced
    Weave", sparksearcher.livejournal.com)."""
    dressing = compute(make_plan(straight(56), sett=8, dents=8))
    assert dressing.sley.pattern == (1,)
    assert dressing.sley.width == 7


def test_problems_carry_the_name_of_the_file() -> None:
    """The weaver is told which of her files is meant."""
    plan = make_plan(straight(400), reed_width=2)
    with pytest.raises(PlanError) as raised:
        compute(plan)
    assert raised.value.source == str(Path("test.toml"))
    assert len(raised.value.problems) == 1


def test_notes_of_the_draft_are_handed_on() -> None:
    """What was tolerated in a WIF file stands with the other advice, as a sentence."""
    plan = make_plan(straight(8))
    tolerant = type(plan)(plan.file, plan.draft, plan.path, plan.text, "", ("End 9 is missing",))
    assert [told(note) for note in compute(tolerant).notes] == ["End 9 is missing."]


def test_a_width_that_whole_passes_do_not_fill_is_told() -> None:
    """19.55 inches at 20 are 391 ends; 97 passes of four come to 388 (computed by hand)."""
    plan = parse_plan(
        'title = "Runner"\nwarp = {width = 19.55, ends_per_inch = 20}\n'
        "reed = {dents_per_inch = 10, width = 24}\nloom = {shafts = 4}\n"
        '[[threading]]\nends = "1-2-3-4"\ntimes = "fill"\n',
        "runner.toml",
    )
    assert [told(note) for note in compute(plan).notes] == [
        "The width asked for takes 391 ends; whole passes of the threading hold 388."
    ]


def test_front_to_back_in_one_pass_is_advised_on() -> None:
    """The default of one pass suits the other method; the plan still stands."""
    plan = make_plan(straight(8), loom={"method": "front-to-back"})
    (note,) = compute(plan).notes
    assert told(note).startswith("A warp brought in from the front is usually sleyed first")


@untimed
@given(plans())
def test_totals_reconcile(plan: Plan) -> None:
    """Ends of the groups, in the heddles, in the reed and in the raddle are the same ends."""
    dressing = compute(plan)
    doubled, floating = plan.file.selvedges.doubled, plan.file.selvedges.floating
    ends = len(dressing.ends)
    assert ends == sum(group.last - group.first + 1 for group in dressing.groups)
    assert ends == sum(row.needed for row in dressing.heddles) + 2 * doubled
    assert ends == sum(dressing.sley.counts) - 2 * floating
    assert dressing.raddle is not None
    assert ends == sum(dressing.raddle.counts)


@untimed
@given(plans())
def test_every_end_is_where_the_plan_puts_it(plan: Plan) -> None:
    """Numbers run from 1, places and dents never go back, and a dent holds what the sley says."""
    dressing = compute(plan)
    ends = dressing.ends
    assert [end.number for end in ends] == list(range(1, len(ends) + 1))
    assert [end.place for end in ends] == sorted(end.place for end in ends)
    assert {end.place for end in ends} == set(range(1, len(plan.draft.shafts) + 1))
    assert all(plan.draft.shafts[end.place - 1] == end.shaft for end in ends)
    assert all(plan.draft.colours[end.place - 1] == end.colour for end in ends)
    held = [0] * len(dressing.sley.counts)
    for end in ends:
        held[end.dent - 1] += 1
    floating = dressing.sley.floating
    assert tuple(held[floating : len(held) - floating]) == dressing.sley.body
    assert [end.dent for end in ends] == sorted(end.dent for end in ends)


def test_what_is_wrong_in_reading_and_in_the_sum_is_told_in_one_report(tmp_path: Path) -> None:
    """A wrong total does not hide a narrow reed, a missing shaft or too few heddles."""
    path = tmp_path / "all-at-once.toml"
    path.write_text(
        """title = "All at once"
[warp]
ends = 99
ends_per_inch = 20
[reed]
dents_per_inch = 10
width = 2
[loom]
shafts = 4
heddles = [10, 10, 10, 10]
[[threading]]
ends = "1 to 5"
times = 16
""",
        encoding="utf-8",
    )
    with pytest.raises(PlanError) as caught:
        read_and_compute(path)
    told = [(problem.place, problem.fault.split(",")[0]) for problem in caught.value.problems]
    assert told[:2] == [
        ("line 3, warp.ends", "expected the 99 ends that warp.ends asks for"),
        ("line 7, reed.width", "expected a warp within the reed's 20 dents"),
    ]
    assert [fault for place, fault in told if place == "line 10, loom.heddles"] == [
        f"expected 16 heddles on shaft {shaft}" for shaft in (1, 2, 3, 4)
    ]
    assert told[-1] == ("line 12, threading.1.ends", "expected shafts 1 to 4")


MANY_AT_ONCE = """title = "Many at once"
[warp]
ends = 160
ends_per_inch = 20
[reed]
dents_per_inch = 10
width = 2
[loom]
shafts = 4
heddles = [10, 32, 32, 32]
kind = "floor"
[raddle]
sections_per_inch = 2
width = 1
[[threading]]
ends = "1 to 5"
times = 32
[tie_up]
shed = "rising"
treadles = ["1-2", "3-6"]
"""


def many_at_once(folder: Path, *slips: tuple[str, str]) -> list[str]:
    """Return the places of all that is wrong in the plan with slips in it."""
    text = MANY_AT_ONCE
    for old, new in slips:
        assert old in text
        text = text.replace(old, new)
    path = folder / "many-at-once.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PlanError) as caught:
        read_and_compute(path)
    return [problem.place.partition(", ")[2] for problem in caught.value.problems]


def test_a_key_that_cannot_be_read_hides_nothing_that_it_does_not_enter(tmp_path: Path) -> None:
    """The loom's kind says nothing of widths, heddles and shafts, so all of them are still told."""
    others = [
        "reed.width",
        "loom.heddles",
        "raddle.width",
        "threading.1.ends",
        "tie_up.treadles.2",
    ]
    good = ('kind = "floor"', 'kind = "jack"')
    assert many_at_once(tmp_path, good) == others
    assert many_at_once(tmp_path) == [*others[:2], "loom.kind", *others[2:]]


@pytest.mark.parametrize(
    ("old", "new", "wrong", "hidden"),
    [
        ("shafts = 4", "shafts = 1", "loom.shafts", {"loom.heddles", "threading.1.ends"}),
        ("width = 2", "width = 0", "reed.width", {"reed.width"}),
        ("ends = 160", "ends = 0", "warp.ends", {"*"}),
        ("[raddle]", "[radle]", "radle", {"raddle.width"}),
        ("sections_per_inch = 2", "", "raddle", {"raddle.width"}),
    ],
)
def test_what_depends_on_a_key_that_cannot_be_read_waits(
    old: str, new: str, wrong: str, hidden: set[str], tmp_path: Path
) -> None:
    """No problem is told that only a stand-in brings up."""
    good = ('kind = "floor"', 'kind = "jack"')
    before = many_at_once(tmp_path, good)
    found = many_at_once(tmp_path, good, (old, new))
    assert wrong in found
    assert set(found) - {wrong} <= set(before) - hidden
