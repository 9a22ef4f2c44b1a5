"""Drawdowns, floats and plain-weave sheds against textbooks and trade sources.

Sources named beside the checks:
Watson: Kate Heintz Watson, *Textiles and Clothing*, "Weave diagrams".
Taylor: J. T. Taylor, *Cotton Weaving and Designing*, 6th edition, "Twills".
Brooks: C. P. Brooks, *Cotton Manufacturing*, "Cloths woven by tappets".
Wolfensberger: A. Wolfensberger, *Theory of Silk Weaving*, on satins and their counters.
Handwoven: "A Question of Tie-Ups", interweave.com.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.loom.drawdown import Floats, check_sheds, drawdown, longest_floats
from companion.plan.draft.draft import Draft, repeat_units
from companion.plan.draft.lifts import lifted_shafts
from companion.plan.wif.reader import read_wif

WIF = Path(__file__).parent / "data" / "wif"
TWILL_TIE_UP = ((1, 2), (2, 3), (3, 4), (1, 4))


def draft(
    shafts: tuple[int, ...],
    treadles: tuple[tuple[int, ...], ...],
    picks: tuple[int, ...],
) -> Draft:
    pressed = tuple((treadle,) for treadle in picks)
    return Draft(shafts, ("",) * len(shafts), repeat_units(shafts), treadles, picks=pressed)


def satin(order: tuple[int, ...]) -> Draft:
    """Return two repeats each way of a straight draw whose pick n lifts shaft order[n] alone."""
    count = len(order)
    straight = tuple(range(1, count + 1))
    return draft(straight * 2, tuple((shaft,) for shaft in straight), order * 2)


def ends_up(woven: Draft) -> list[tuple[int, ...]]:
    cloth = drawdown(woven)
    return [cloth.ends_up(pick) for pick in range(1, len(cloth.rows) + 1)]


@pytest.mark.parametrize("name", ["twill.wif", "twill-liftplan.wif"])
def test_twill_of_the_fixture_files(name: str) -> None:
    """A straight draw in two and two twill, from treadles or lift plan: worked out by hand."""
    text = (WIF / name).read_text(encoding="utf-8")
    woven = read_wif(text, name=name, first_end="right", draft_first_end="right").draft
    assert ends_up(woven) == [(1, 2, 5, 6), (2, 3, 6, 7), (3, 4, 7, 8), (1, 4, 5, 8)]


def test_two_and_two_twill_floats_over_two_and_under_two() -> None:
    """Watson: in the cassimere twill warp and weft both run over two and under two threads."""
    woven = draft((1, 2, 3, 4) * 3, TWILL_TIE_UP, (1, 2, 3, 4) * 3)
    assert longest_floats(woven) == Floats(2, 2, 2, 2)


def test_two_and_two_twill_moves_one_end_each_pick() -> None:
    """Brooks: the same number of ends is up at every pick, moving on by one end."""
    rows = ends_up(draft((1, 2, 3, 4) * 2, TWILL_TIE_UP, (1, 2, 3, 4)))
    for one, after in pairwise(rows):
        assert {end % 8 + 1 for end in one} == set(after)


def test_sinking_tie_up_weaves_the_cloth_face_down() -> None:
    """Handwoven: ties read as shafts that go down give the same cloth with its face below."""
    rising = draft((1, 2, 3, 4) * 2, TWILL_TIE_UP, (1, 2, 3, 4))
    below = drawdown(replace(rising, is_rising_shed=False))
    above = drawdown(rising)
    for pick in range(1, 5):
        for end in range(1, 9):
            assert above.is_warp_up(pick, end) is not below.is_warp_up(pick, end)


def test_walking_tie_up_weaves_the_same_twill() -> None:
    """Handwoven: 1-2, 3-4, 1-4, 2-3 walked left, right, left, right is the same 2/2 twill."""
    walking = ((1, 2), (3, 4), (1, 4), (2, 3))
    same = draft((1, 2, 3, 4) * 2, walking, (1, 4, 2, 3))
    assert drawdown(same) == drawdown(draft((1, 2, 3, 4) * 2, TWILL_TIE_UP, (1, 2, 3, 4)))


def test_two_and_one_twill() -> None:
    """Taylor: the first end is lifted for the first pick, the second for the second, and so on.

    The weft passes under one end and over two.
    """
    woven = satin((1, 2, 3))
    assert ends_up(woven)[:3] == [(1, 4), (2, 5), (3, 6)]
    assert longest_floats(woven) == Floats(
        warp_on_face=1, warp_on_back=2, weft_on_face=2, weft_on_back=1
    )


@pytest.mark.parametrize("order", [(1, 3, 5, 2, 4), (1, 6, 11, 4, 9, 2, 7, 12, 5, 10, 3, 8)])
def test_weft_satins_lift_in_the_published_order(order: tuple[int, ...]) -> None:
    """Brooks gives these lifting orders of 5 and 12 staves; no two neighbours ever lift together.

    Between two lifts of an end lie all the other picks, so threads float over all but one.
    """
    count = len(order)
    woven = satin(order)
    assert [row[0] for row in ends_up(woven)[:count]] == list(order)
    assert all(abs(one - other) > 1 for row in ends_up(woven) for one, other in pairwise(row))
    assert longest_floats(woven) == Floats(1, count - 1, count - 1, 1)


SATIN_COUNTERS = {
    5: [2],
    7: [2, 3],
    8: [3],
    9: [2, 4],
    10: [3],
    11: [2, 3, 4, 5],
    12: [5],
    13: [2, 3, 4, 5, 6],
    14: [3, 5],
    15: [2, 4, 7],
    16: [3, 5, 7],
}
"""Wolfensberger's table of regular satins: harness, and the counters that give one."""


@pytest.mark.parametrize("count", SATIN_COUNTERS)
def test_regular_satins_are_those_of_the_published_table(count: int) -> None:
    """A counter of the table lifts each end once a repeat; other counters leave ends floating."""
    for counter in range(2, count // 2 + 1):
        order = tuple(pick * counter % count + 1 for pick in range(count))
        is_regular = longest_floats(satin(order)).warp_on_back == count - 1
        # Half the harness is no counter, and no more is one that divides it (Wolfensberger).
        assert is_regular is (counter in SATIN_COUNTERS[count]), counter


def test_plain_weave_passes_over_one_and_under_one() -> None:
    """Watson: in plain weave each thread passes alternately over and under; also on four shafts."""
    plain = draft((1, 2, 3, 4) * 2, ((1, 3), (2, 4)), (1, 2) * 4)
    skipped = draft((1, 3, 2, 4) * 2, ((1, 2), (3, 4)), (1, 2) * 4)
    assert longest_floats(plain) == Floats(1, 1, 1, 1)
    assert drawdown(plain) == drawdown(skipped)


def test_treadles_pressed_together_lift_all_their_shafts() -> None:
    """A pick on two treadles lifts what either lifts: by hand."""
    woven = replace(draft((1, 2, 3, 4), ((1, 2), (2, 3)), ()), picks=((1, 2), ()))
    assert ends_up(woven) == [(1, 2, 3), ()]


def test_shaft_that_never_moves_floats_the_whole_length() -> None:
    """An end on a shaft no treadle ties lies on the back throughout: by hand."""
    woven = draft((1, 2, 3), ((1,), (2,)), (1, 2, 1, 2, 1))
    assert longest_floats(woven).warp_on_back == 5


def test_a_float_runs_on_where_the_treadling_begins_again() -> None:
    """Three picks of a 1/2 twill that begin amid a float: under two, not one (by hand)."""
    woven = draft((1, 2, 3) * 2, ((1,), (2,), (3,)), (2, 1, 3))
    assert [row[:1] for row in ends_up(woven)] == [(2,), (1,), (3,)]
    assert longest_floats(woven) == Floats(1, 2, 2, 1)


def test_nothing_threaded_or_nothing_woven_has_no_floats() -> None:
    """An empty draft has an empty drawdown."""
    assert longest_floats(draft((1, 2), (), ())) == Floats(0, 0, 0, 0)
    assert drawdown(draft((), ((1,),), (1,))).ends_up(1) == ()


shafts_of = st.lists(st.integers(1, 4), min_size=1, max_size=20).map(tuple)
ties = st.lists(
    st.lists(st.integers(1, 4), max_size=4, unique=True).map(lambda tie: tuple(sorted(tie))),
    min_size=1,
    max_size=6,
).map(tuple)


@settings(deadline=None)
@given(shafts_of, ties, st.data(), st.booleans())
def test_drawdown_is_the_boolean_product(
    shafts: tuple[int, ...],
    treadles: tuple[tuple[int, ...], ...],
    data: st.DataObject,
    is_rising: bool,  # noqa: FBT001 (hypothesis gives it by position)
) -> None:
    """Each crossing is up where some pressed treadle ties its shaft, or none in a sinking shed."""
    pick = st.lists(st.integers(1, len(treadles)), max_size=2, unique=True).map(tuple)
    picks = tuple(data.draw(st.lists(pick, max_size=8)))
    woven = replace(draft(shafts, treadles, ()), picks=picks, is_rising_shed=is_rising)
    cloth = drawdown(woven)
    for number, pressed in enumerate(picks, 1):
        for end, shaft in enumerate(shafts, 1):
            is_tied = any(shaft in treadles[treadle - 1] for treadle in pressed)
            assert cloth.is_warp_up(number, end) is (is_tied is is_rising)
    lifts = tuple(tuple(sorted(lift)) for lift in lifted_shafts(woven))
    as_lift_plan = replace(woven, treadles=(), picks=(), lifts=lifts)
    assert drawdown(as_lift_plan) == cloth


# Threading sequence, and its plain-weave sheds or None. The sheds of the straight draw: "Use
# Tabby", warpedwheels.blogspot.com (December 2013). That M's and O's have none: Leigh's Fiber
# Journal (February 2008). Summer and winter's tie-down shafts against its pattern shafts, and
# opposite blocks: from memory. The others follow from the sequence, proved by the test below.
CHECK_SHEDS = [
    ("straight draw on 4", "1234", "13/24"),
    ("straight draw on 3", "123", None),
    ("straight draw on 8", "12345678", "1357/2468"),
    ("point draw on 4", "123432", "13/24"),
    ("krokbragd", "1232", "13/2"),
    ("broken twill", "1243", "14/23"),
    ("broken twill on 8 ends", "12342143", None),
    ("M's and O's, both blocks", "1212343413132424", None),
    ("summer and winter", "13231424", "12/34"),
    ("huck, odd and even", "1313124242", "14/23"),
    ("huck, other", "1212143434", "13/24"),
    ("Bronson lace", "131312141412", "1/234"),
    ("crackle, with incidentals", "12321234323414341214", "13/24"),
    ("double weave in parallel draw", "1324", "12/34"),
    ("shadow weave", "13243142", None),
]


@pytest.mark.parametrize(
    ("threading", "expected"), [row[1:] for row in CHECK_SHEDS], ids=[row[0] for row in CHECK_SHEDS]
)
def test_check_sheds_of_common_threadings(threading: str, expected: str | None) -> None:
    """Two repeats of each threading have the sheds the trade uses, or none."""
    sheds = check_sheds([int(shaft) for shaft in threading] * 2)
    found = sheds and "/".join("".join(map(str, sorted(shed))) for shed in sheds)
    assert found == expected


@settings(deadline=None)
@given(st.lists(st.integers(1, 6), max_size=30))
def test_check_sheds_are_the_only_ones_there_are(shafts: list[int]) -> None:
    """Trying every set of shafts finds the same pair, or none."""
    used = sorted(set(shafts))
    tried = [
        set(lifted)
        for size in range(1, len(used))
        for lifted in combinations(used, size)
        if used[0] in lifted
        and all((one in lifted) is not (other in lifted) for one, other in pairwise(shafts))
    ]
    sheds = check_sheds(shafts)
    assert tried == ([] if sheds is None else [set(sheds[0])])
    if sheds is not None:
        assert sheds[1] == set(used) - sheds[0]


@settings(deadline=None)
@given(st.lists(st.integers(1, 6), min_size=2, max_size=30))
def test_check_sheds_weave_plain_cloth(shafts: list[int]) -> None:
    """Treadled by turns the two sheds float no thread over more than one other."""
    sheds = check_sheds(shafts)
    if sheds is not None:
        tie_up = tuple(tuple(sorted(shed)) for shed in sheds)
        assert longest_floats(draft(tuple(shafts), tie_up, (1, 2) * 3)) == Floats(1, 1, 1, 1)
