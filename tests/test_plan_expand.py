"""Writing out a threading from the plan's parts, and its units and repeats."""

from __future__ import annotations

from itertools import chain, pairwise

from hypothesis import given
from hypothesis import strategies as st
from plan_tables import PartTable, draft_of, warp

from companion.plan.draft.draft import Unit

POINT = (1, 2, 3, 4, 3, 2)


def test_parts_repeats_blocks_and_names_are_written_out_in_order() -> None:
    """A repeat is a pass of a part at the top, a unit a pass of a smallest part."""
    draft = draft_of(
        [
            {"ends": "1 to 4", "times": 2},
            {"parts": [{"block": "A", "times": 2}, {"ends": "4", "name": "turn"}], "times": 2},
            {"named": "krokbragd 3"},
        ],
        blocks={"A": "1-3"},
    )
    assert draft.shafts == (1, 2, 3, 4) * 2 + (1, 3, 1, 3, 4) * 2 + (1, 2, 3, 2)
    assert draft.units == (
        Unit("", 1, 1, 1, 4),
        Unit("", 2, 2, 5, 8),
        Unit("block A", 3, 3, 9, 10),
        Unit("block A", 4, 3, 11, 12),
        Unit("turn", 5, 3, 13, 13),
        Unit("block A", 6, 4, 14, 15),
        Unit("block A", 7, 4, 16, 17),
        Unit("turn", 8, 4, 18, 18),
        Unit("krokbragd", 9, 5, 19, 22),
    )


def test_a_bare_run_has_the_name_of_the_part_around_it() -> None:
    """A named part lends its name to what has none, and not to a block with a letter."""
    draft = draft_of(
        [{"name": "border", "parts": [{"ends": "1-2"}, {"block": "A"}, {"named": "straight 4"}]}],
        blocks={"A": "3-4"},
    )
    assert [unit.name for unit in draft.units] == ["border", "block A", "straight draw"]


def test_a_part_that_fills_goes_in_as_often_as_the_ends_allow() -> None:
    """40 ends, less a border of 4 a side, leave 32: eight times a straight draw of 4."""
    border = {"ends": "4 to 1"}
    draft = draft_of([border, {"ends": "1 to 4", "times": "fill"}, border], warp=warp(ends=40))
    assert draft.shafts == (4, 3, 2, 1) + (1, 2, 3, 4) * 8 + (4, 3, 2, 1)
    assert draft.units[-1] == Unit("", 10, 10, 37, 40)


def test_a_width_is_filled_with_whole_repeats() -> None:
    """5 in at 10 to the inch are 50 ends; eight points of 6 and a balancing end are 49."""
    draft = draft_of(
        [{"ends": "1 to 4, 3 to 2", "times": "fill"}, {"ends": "1"}], warp=warp(width=5)
    )
    assert draft.shafts == POINT * 8 + (1,)


def test_doubled_edge_heddles_leave_fewer_places_to_fill() -> None:
    """44 ends with 2 doubled heddles a side are 40 heddles."""
    draft = draft_of(
        [{"ends": "1 to 4", "times": "fill"}], warp=warp(ends=44), selvedges={"doubled": 2}
    )
    assert len(draft.shafts) == 40


def test_floating_selvedges_take_no_place() -> None:
    """They hang in the reed alone and come on top of the ends."""
    draft = draft_of(
        [{"ends": "1 to 4", "times": "fill"}], warp=warp(ends=40), selvedges={"floating": 1}
    )
    assert len(draft.shafts) == 40


FEW = st.integers(1, 3)
BLOCKS = {"A": "1-2-3", "B": "4"}


def dashed(shafts: list[int]) -> str:
    """Return shafts in the notation."""
    return "-".join(map(str, shafts))


parts = st.recursive(
    st.fixed_dictionaries(
        {
            "ends": st.lists(st.integers(1, 4), min_size=1, max_size=5).map(
                lambda s: "-".join(map(str, s))
            )
        },
        optional={"times": FEW},
    )
    | st.fixed_dictionaries({"block": st.sampled_from("AB")}, optional={"times": FEW}),
    lambda inner: st.fixed_dictionaries(
        {"parts": st.lists(inner, min_size=1, max_size=3)}, optional={"times": FEW}
    ),
    max_leaves=8,
)


def plainly(part: PartTable) -> list[list[int]]:
    """Return the units of one part, by the plainest reading of its keys."""
    if "parts" in part:
        one = [unit for inner in part["parts"] for unit in plainly(inner)]
    else:
        text = part.get("ends") or BLOCKS[part["block"]]
        one = [[int(shaft) for shaft in text.split("-")]]
    times: int = part.get("times", 1)
    return one * times


@given(st.lists(parts, min_size=1, max_size=4))
def test_units_cover_every_place_once_and_hold_what_their_parts_say(
    threading: list[PartTable],
) -> None:
    """A plain recursive reading of the same parts gives the same units and shafts."""
    draft = draft_of(threading, blocks=BLOCKS)
    expected = [unit for part in threading for unit in plainly(part)]
    assert [list(draft.shafts[unit.first - 1 : unit.last]) for unit in draft.units] == expected
    assert list(chain.from_iterable(expected)) == list(draft.shafts)
    assert [unit.number for unit in draft.units] == list(range(1, len(expected) + 1))
    assert all(after.first == before.last + 1 for before, after in pairwise(draft.units))
    assert (draft.units[0].first, draft.units[-1].last) == (1, len(draft.shafts))


@given(st.lists(parts, min_size=1, max_size=4))
def test_every_pass_of_a_part_at_the_top_is_one_repeat(threading: list[PartTable]) -> None:
    """Repeats run from 1 without a gap, as many as all the times at the top."""
    repeats = [unit.repeat for unit in draft_of(threading, blocks=BLOCKS).units]
    assert sorted(set(repeats)) == list(range(1, sum(p.get("times", 1) for p in threading) + 1))
    assert repeats == sorted(repeats)


@given(
    st.integers(1, 30),
    st.tuples(st.integers(1, 20), st.integers(1, 20)),
    st.integers(1, 40),
    st.integers(0, 1),
)
def test_filling_meets_the_ends_exactly_when_whole_repeats_do(
    length: int, edges: tuple[int, int], times: int, doubled: int
) -> None:
    """A warp made of so many repeats is filled by just as many."""
    before, after = ({"ends": "2", "times": number} for number in edges)
    fill = {"ends": dashed([1] * length), "times": "fill"}
    ends = sum(edges) + times * length + 2 * doubled
    draft = draft_of([before, fill, after], warp=warp(ends=ends), selvedges={"doubled": doubled})
    assert draft.shafts.count(1) == times * length
