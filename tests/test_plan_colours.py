"""Colours by place, tie-up, treadling, and what a plan changes in a draft from elsewhere."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_tables import PartTable, draft_of, faults_of, plan_of, warp

from companion.base.errors import PlanError
from companion.plan.draft.build import compose
from companion.plan.draft.draft import Draft, Unit
from companion.plan.file.reader import parse_plan


def test_a_parts_colour_is_that_of_its_places_and_of_parts_inside_without_one() -> None:
    """The nearest colour around a place counts; none is the empty text."""
    white = {"ends": "4", "colour": "white"}
    blue = {"colour": "blue", "parts": [{"ends": "3"}, white], "times": 2}
    draft = draft_of([{"ends": "1-2", "colour": "red"}, blue, {"ends": "1"}])
    assert draft.colours == ("red", "red", *("blue", "white") * 2, "")


def test_colours_count_the_ends_as_they_are_wound() -> None:
    """Stripes in a repeat that fills, between edges of white."""
    inner = [{"colour": "blue", "ends": 3}, {"colour": "white", "ends": 1}]
    stripes = {"parts": inner, "times": "fill"}
    white = {"colour": "white", "ends": 2, "times": 2}
    draft = draft_of([{"ends": "1 to 4", "times": 4}], colours=[white, stripes, white])
    edge = ("white",) * 4
    assert draft.colours == (*edge, *(("blue",) * 3 + ("white",)) * 2, *edge)


def test_two_ends_in_one_heddle_count_twice_in_the_colours_and_once_in_the_places() -> None:
    """12 ends in 8 heddles, two of them doubled on each side."""
    draft = draft_of(
        [{"ends": "1 to 4", "times": 2}],
        selvedges={"doubled": 2},
        colours=[
            {"colour": "white", "ends": 2},
            {"colour": "red", "ends": 3},
            {"colour": "blue", "ends": 7},
        ],
    )
    assert draft.colours == ("white", "red", "red", *("blue",) * 5)


@given(
    st.lists(st.tuples(st.sampled_from("rgb"), st.integers(1, 9)), min_size=1, max_size=6),
    st.integers(0, 4),
)
def test_doubled_heddles_keep_the_order_of_colours(
    runs: list[tuple[str, int]], doubled: int
) -> None:
    """Giving each place its ends back gives the runs as they were wound."""
    ends = [colour for colour, number in runs for _ in range(number)]
    places = len(ends) - 2 * doubled
    if places < max(1, 2 * doubled):
        return
    plan = plan_of(
        [{"ends": "1", "times": places}],
        selvedges={"doubled": doubled},
        colours=[{"colour": colour, "ends": number} for colour, number in runs],
    )
    draft, faults = compose(plan)
    pairs = [*zip(ends[::2], ends[1::2], strict=False)][:doubled]
    pairs += [*zip(ends[-2::-2], ends[::-2], strict=False)][:doubled]
    assert bool(faults) == any(one != other for one, other in pairs)
    if draft is not None and not faults:
        each = [1 + (at < doubled or at >= places - doubled) for at in range(places)]
        wound = [c for c, n in zip(draft.colours, each, strict=True) for _ in range(n)]
        assert wound == ends
    else:
        assert "expected one colour in each doubled heddle" in faults[0].fault


@pytest.mark.parametrize(
    ("colours", "path", "fault", "mend"),
    [
        (
            [{"colour": "red", "ends": 7}],
            "colours",
            "expected colours for 8 ends in the heddles, and they come to 7",
            "Add 1 end of colour",
        ),
        (
            [{"colour": "red", "ends": 5, "times": 2}],
            "colours",
            "expected colours for 8 ends in the heddles, and they come to 10",
            "Take out 2 ends of colour",
        ),
        (
            [{"colour": "red", "ends": 3, "times": "fill"}],
            "colours",
            (
                "expected colours for 8 ends in the heddles, and they come to 6, or 9 with "
                "one pass more"
            ),
            "Add 2 ends of colour outside the part that fills",
        ),
        (
            [{"colour": "red", "ends": 9, "times": "fill"}],
            "colours.0.times",
            "expected room for one pass of 9 ends at least, and the other parts leave 8",
            "Make the warp wider or the other parts shorter",
        ),
    ],
)
def test_colours_that_do_not_come_to_the_ends_are_told_with_both_numbers(
    colours: list[PartTable], path: str, fault: str, mend: str
) -> None:
    """Eight ends want eight ends of colour."""
    assert faults_of([{"ends": "1 to 4", "times": 2}], colours=colours) == [(path, fault, mend)]


def test_tie_up_and_treadling_are_written_out() -> None:
    """Treadles with their shafts in rising order, picks with all their repeats."""
    draft = draft_of(
        [{"ends": "1 to 4"}],
        tie_up={"shed": "sinking", "treadles": ["2-1", "", "3 to 4, 3"]},
        treadling=[
            {"picks": "1 to 3", "times": 2},
            {"parts": [{"picks": "1+3"}, {"picks": "2", "times": 2}], "times": 2},
        ],
    )
    assert draft.treadles == ((1, 2), (), (3, 4))
    assert not draft.is_rising_shed
    assert draft.picks == ((1,), (2,), (3,)) * 2 + ((1, 3), (2,), (2,)) * 2


def test_too_many_picks_are_refused() -> None:
    """A slip in a number of times does not fill the memory."""
    treadling = [{"picks": "1-2", "times": 1_000_000}]
    [(path, fault, _)] = faults_of([{"ends": "1"}], treadling=treadling)
    assert path == "treadling"
    assert fault == "expected at most 1,000,000 in all, and its picks come to more"


def test_a_draft_takes_the_plans_colours_tie_up_and_treadling() -> None:
    """What the plan gives takes the place of what the WIF file gave."""
    wif = Draft((1, 2), ("red", "red"), (Unit("", 1, 1, 1, 2),), lifts=((1,),), title="from a file")
    plan = plan_of(
        [],
        draft="x.wif",
        colours=[{"colour": "blue", "ends": 2}],
        tie_up={"shed": "rising", "treadles": ["1"]},
        treadling=[{"picks": "1"}],
    )
    draft, faults = compose(plan, wif)
    assert faults == []
    assert draft == Draft(
        (1, 2),
        ("blue", "blue"),
        wif.units,
        ((1,),),
        picks=((1,),),
        title="from a file",
        pick_units=(Unit("", 1, 1, 1, 1),),
    )


def test_a_draft_of_another_size_than_the_warp_is_told() -> None:
    """Both numbers are named."""
    wif = Draft((1, 2), ("", ""), (Unit("", 1, 1, 1, 2),))
    draft, faults = compose(plan_of([], draft="x.wif", warp=warp(ends=40)), wif)
    assert draft == wif
    assert [fault.fault for fault in faults] == [
        "expected the 40 ends that warp.ends asks for, and the draft comes to 2"
    ]


def test_a_threading_beside_a_draft_is_one_too_many() -> None:
    """The file cannot say which of them is meant."""
    with pytest.raises(PlanError, match="both draft and threading give it"):
        parse_plan(
            'title = "x"\ndraft = "x.wif"\n[warp]\nends_per_inch = 9\n[loom]\nshafts = 4\n'
            "[reed]\ndents_per_inch = 9\nwidth = 9\n[[threading]]\nends = '1'\n",
            "x.toml",
            "[WIF]\nVersion=1.1\n[WEAVING]\nShafts=4\n[WARP]\nThreads=1\n[THREADING]\n1=1\n",
        )
