"""The heddles each shaft needs, against threadings printed in handbooks."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from small_plans import make_plan, plans, straight, untimed

from companion.loom.compute import compute
from companion.loom.dressing import HeddleMove
from companion.loom.heddles import heddle_moves, heddles, notes
from companion.wording.remarks import told

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def needed(plan: Plan) -> list[int]:
    """Return the heddles needed, shaft 1 first."""
    return [row.needed for row in heddles(plan)]


def test_four_hundred_ends_on_eight_shafts_need_fifty_each() -> None:
    """The example of "Notes from the Fell: On Heddle Management", Handwoven, Nov/Dec 2022."""
    plan = make_plan(tuple(range(1, 9)) * 50, loom={"shafts": 8})
    assert needed(plan) == [50] * 8
    assert {(row.before_centre, row.after_centre) for row in heddles(plan)} == {(25, 25)}


@pytest.mark.parametrize(
    ("unit", "per_unit"),
    [
        # Point twill, weavingspace.co.uk, "Twills on 4 Shafts"; counted by hand.
        ((1, 2, 3, 4, 3, 2), [1, 2, 2, 1]),
        # Huck A and B, gistyarn.com, "Lace, Part Three"; counted by hand.
        ((1, 3, 1, 3, 1, 2, 4, 2, 4, 2), [3, 3, 2, 2]),
        # Shadow weave, gistyarn.com, "Shadow Weave"; counted by hand.
        ((1, 3, 2, 4, 3, 1, 4, 2), [2, 2, 2, 2]),
    ],
)
def test_heddles_of_a_repeat_multiply(unit: tuple[int, ...], per_unit: list[int]) -> None:
    """Thirty passes of a published threading need thirty times its heddles on every shaft."""
    assert needed(make_plan(unit * 30)) == [30 * count for count in per_unit]


def test_doubled_ends_need_no_heddle_more() -> None:
    """Two ends in one heddle: eight heddles, twelve ends (Hall and Buck, Handicrafts for the
    Handicapped, 1916, thread the last 8 to 10 ends of a selvedge by twos)."""
    plan = make_plan(straight(8), selvedges={"doubled": 2})
    assert sum(needed(plan)) == 8
    assert len(compute(plan).ends) == 12


def test_a_middle_heddle_lies_in_the_first_half() -> None:
    """Of five heddles three lie before the centre and two after it."""
    rows = heddles(make_plan((1, 2, 1, 2, 1)))
    assert [(row.before_centre, row.after_centre) for row in rows[:2]] == [(2, 1), (1, 1)]


def test_heddles_there_and_missing_are_told_shaft_by_shaft() -> None:
    """What hangs on a shaft is set beside what it needs."""
    rows = heddles(make_plan(straight(40), loom={"heddles": [12, 9, 10, 0]}))
    assert [row.have for row in rows] == [12, 9, 10, 0]
    assert [row.short for row in rows] == [0, 1, 0, 10]


def test_unknown_heddles_are_not_judged() -> None:
    """A plan that does not say what hangs on the shafts is short of nothing."""
    assert {row.short for row in heddles(make_plan(straight(40)))} == {0}


def test_spare_heddles_are_promised_once() -> None:
    """Shaft 1 has 6 to spare: 4 for shaft 2, and the 2 left for shaft 3, which needs 4."""
    rows = heddles(make_plan(straight(40), loom={"heddles": [16, 6, 6, 10]}))
    assert heddle_moves(rows) == (HeddleMove(4, 1, 2), HeddleMove(2, 1, 3))


def test_a_shaft_loaded_to_one_side_is_told_with_its_side() -> None:
    """A threading that changes shafts at the centre loads shafts 1 and 3 on one side each."""
    plan = make_plan((1, 2) * 20 + (3, 2) * 20)
    first, third, unused = map(told, notes(plan, heddles(plan)))
    assert first == (
        "Shaft 1 carries 20 heddles in the right half and 0 in the left half, seen from the front "
        "of the loom; hang its spare heddles so that both ends weigh about the same."
    )
    assert third.startswith("Shaft 3 carries 0 heddles in the right half and 20 in the left half")
    assert unused == "Shaft 4 is not used by this threading."


def test_an_even_threading_needs_no_word() -> None:
    """A straight draw over all shafts is balanced as it stands."""
    plan = make_plan(straight(400))
    assert notes(plan, heddles(plan)) == []


def test_unused_shafts_are_named_together() -> None:
    """Four shafts threaded on a loom with eight leave four idle, in one sentence."""
    plan = make_plan(straight(8), loom={"shafts": 8})
    (note,) = notes(plan, heddles(plan))
    assert told(note) == "Shafts 5, 6, 7 and 8 are not used by this threading."


@untimed
@given(plans())
def test_heddles_hold_every_place_once(plan: Plan) -> None:
    """Heddles are the places threaded; ends are more by one for every doubled heddle."""
    dressing = compute(plan)
    rows = dressing.heddles
    assert sum(row.needed for row in rows) == len(plan.draft.shafts)
    doubled = 2 * plan.file.selvedges.doubled
    assert sum(row.needed for row in rows) + doubled == len(dressing.ends)
    assert all(row.before_centre + row.after_centre == row.needed for row in rows)
    halves = sum(row.before_centre for row in rows), sum(row.after_centre for row in rows)
    assert halves[0] - halves[1] in (0, 1)
    held = Counter(shaft for _, shaft in {(end.place, end.shaft) for end in dressing.ends})
    assert {row.shaft: row.needed for row in rows if row.needed} == dict(held)
