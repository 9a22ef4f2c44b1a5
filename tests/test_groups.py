"""Where the weaver stops to check: boundaries on repeats and units, never inside a heddle.

Weavers tie and count groups of 12 ends (yarn-tails.blogspot.com, November 2007) to 48
(warpedforgood.com, on threading groups), at the edges of blocks (talkingaboutweaving.blogspot.com,
November 2007); the size of 24 and the division of longer units are our own choice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from small_plans import make_plan, plans, straight, units_of, untimed

from companion.loom.compute import compute
from companion.loom.dressing import Group, GroupName, NumberSpan
from companion.loom.groups import MOST_ENDS
from companion.wording.stages import called_group

if TYPE_CHECKING:
    from companion.plan.draft.draft import Unit
    from companion.plan.file.reader import Plan


def names_of(plan: Plan) -> list[str]:
    """Return the groups' names."""
    return [called_group(group.name) for group in compute(plan).groups]


def sizes_of(plan: Plan) -> list[int]:
    """Return the ends in each group."""
    return [group.last - group.first + 1 for group in compute(plan).groups]


def blocks(places: int) -> dict[str, tuple[Unit, ...]]:
    """Return a draft's units of 4 places, blocks A and B in turn, both in one repeat."""
    return {"units": units_of(places, length=4, names=("block A", "block B"))}


def test_one_group_for_each_repeat() -> None:
    """Size 1 by repeat: 12 ends in straight draw are patterns 1, 2 and 3 of 4 ends."""
    plan = make_plan(straight(12), groups={"by": "repeat", "size": 1})
    assert compute(plan).groups == (
        Group(1, GroupName(stretches=(NumberSpan("pattern", 1, 1),)), 1, 4),
        Group(2, GroupName(stretches=(NumberSpan("pattern", 2, 2),)), 5, 8),
        Group(3, GroupName(stretches=(NumberSpan("pattern", 3, 3),)), 9, 12),
    )


def test_several_repeats_in_a_group() -> None:
    """Size 2 by repeat leaves the odd one in a group of its own."""
    plan = make_plan(straight(12), groups={"by": "repeat", "size": 2})
    assert names_of(plan) == ["patterns 1 to 2", "pattern 3"]
    assert sizes_of(plan) == [8, 4]


def test_one_group_for_each_block() -> None:
    """Size 1 by block names the block and the repeat it lies in."""
    plan = make_plan(straight(16), groups={"by": "block", "size": 1}, drafted=blocks(16))
    assert names_of(plan) == [
        "block A, pattern 1",
        "block B, pattern 1",
        "block A, pattern 2",
        "block B, pattern 2",
    ]


def test_blocks_that_fill_a_repeat_are_called_by_the_repeat() -> None:
    """Two blocks to a group are whole repeats here, three are not."""
    two = make_plan(straight(24), groups={"by": "block", "size": 2}, drafted=blocks(24))
    assert names_of(two) == ["pattern 1", "pattern 2", "pattern 3"]
    three = make_plan(straight(24), groups={"by": "block", "size": 3}, drafted=blocks(24))
    assert names_of(three) == ["units 1 to 3, patterns 1 to 2", "units 4 to 6, patterns 2 to 3"]


def test_the_default_takes_as_many_repeats_as_24_ends_hold() -> None:
    """Six repeats of four ends make a group of 24."""
    plan = make_plan(straight(60))
    assert names_of(plan) == ["patterns 1 to 6", "patterns 7 to 12", "patterns 13 to 15"]
    assert sizes_of(plan) == [24, 24, 12]


def test_a_repeat_too_long_for_a_group_is_divided_between_its_units() -> None:
    """Two repeats of five 8-end blocks: three blocks and two, and each repeat starts a group."""
    names = tuple(f"block {letter}" for letter in "ABCDE")
    plan = make_plan(straight(80), drafted={"units": units_of(80, length=8, names=names)})
    assert sizes_of(plan) == [24, 16, 24, 16]
    assert names_of(plan) == [
        "units 1 to 3, pattern 1",
        "units 4 to 5, pattern 1",
        "units 6 to 8, pattern 2",
        "units 9 to 10, pattern 2",
    ]


def test_a_unit_too_long_for_a_group_is_divided_into_equal_parts() -> None:
    """A threading of 100 ends without a repeat is checked after every 20."""
    plan = make_plan(straight(100), drafted={"units": units_of(100, length=100)})
    assert sizes_of(plan) == [20] * 5
    assert names_of(plan)[1] == "pattern 1, part 2 of 5"


def test_a_named_unit_keeps_its_name_when_divided() -> None:
    """The parts of a long part with a name say that name."""
    plan = make_plan(straight(50), drafted={"units": units_of(50, length=50, names=("border",))})
    assert names_of(plan) == [f"border, pattern 1, part {part} of 3" for part in (1, 2, 3)]


def test_groups_by_ends_have_no_name() -> None:
    """Ten ends to a group, the rest in the last."""
    plan = make_plan(straight(24), groups={"by": "ends", "size": 10})
    assert compute(plan).groups == (
        Group(1, GroupName(), 1, 10),
        Group(2, GroupName(), 11, 20),
        Group(3, GroupName(), 21, 24),
    )


def test_groups_by_inch_follow_the_dents() -> None:
    """20 ends an inch in a 12-dent reed: an inch is 12 dents and 20 ends; then the rest."""
    plan = make_plan(straight(48), dents=12, groups={"by": "inch"})
    assert names_of(plan) == ["inch 1", "inch 2", "inch 3"]
    assert sizes_of(plan) == [20, 20, 8]


def test_floating_selvedges_do_not_shift_the_inches() -> None:
    """Inches are measured from the first threaded end."""
    plan = make_plan(straight(40), dents=12, groups={"by": "inch"}, selvedges={"floating": 2})
    assert sizes_of(plan) == [20, 20]


def test_groups_by_centimetre_follow_the_dents() -> None:
    """8 ends a cm in a reed of 40 in 10 cm: the default of 3 cm is 12 dents and 24 ends."""
    plan = make_plan(
        straight(56),
        sett=None,
        warp={"ends_per_cm": 8},
        dents=None,
        reed={"dents_per_10cm": 40},
        units="metric",
        reed_width=100,
        groups={"by": "cm"},
    )
    assert sizes_of(plan) == [24, 24, 8]
    assert names_of(plan)[0] == "centimetres 1 to 3"


@pytest.mark.parametrize(("size", "first"), [(5, 4), (6, 6)])
def test_a_boundary_never_divides_a_doubled_heddle(size: int, first: int) -> None:
    """With three doubled heddles at the edge, five ends would end inside the third."""
    plan = make_plan(straight(20), groups={"by": "ends", "size": size}, selvedges={"doubled": 3})
    assert sizes_of(plan)[0] == first


@untimed
@given(plans())
def test_groups_hold_every_end_once_in_order(plan: Plan) -> None:
    """Groups follow on one another, hold all ends, and no heddle lies in two of them."""
    dressing = compute(plan)
    firsts = [group.first for group in dressing.groups]
    lasts = [group.last for group in dressing.groups]
    assert firsts == [1, *(last + 1 for last in lasts[:-1])]
    assert lasts[-1] == len(dressing.ends)
    assert [group.number for group in dressing.groups] == list(range(1, len(firsts) + 1))
    assert sum(sizes_of(plan)) == len(dressing.ends)
    group_of_place = {(end.place, end.group) for end in dressing.ends}
    assert len(group_of_place) == len(plan.draft.shafts)


@untimed
@given(plans(grouped_by=("repeat", "block", "ends")))
def test_groups_of_the_default_size_are_short_enough_to_check(plan: Plan) -> None:
    """Grouped by what is threaded, at most 24 ends lie between two checks."""
    assert max(sizes_of(plan)) <= MOST_ENDS
