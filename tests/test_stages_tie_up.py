"""Tying up: each kind of loom gets the ties that make it weave the draft."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_walker import job_plans, printed, told, walk
from small_plans import make_plan, straight, untimed

from companion.guide import Options
from companion.job import Stage, stage
from companion.loom.compute import compute
from companion.loom.tie_up import LoomKind, Ties, TieUpPlan, tie_up
from companion.plan.draft.draft import Draft
from companion.plan.draft.lifts import lifted_shafts
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

TWILL = ((1, 2), (2, 3), (3, 4), (1, 4))
KINDS: tuple[LoomKind | None, ...] = (None, "jack", "counterbalance", "countermarch")
QUIET = Options(cautions=False, stage_cautions=False, tell_help=False)


def draft(
    treadles: tuple[tuple[int, ...], ...] = TWILL,
    *,
    is_rising_shed: bool = True,
    picks: tuple[tuple[int, ...], ...] = (),
    shafts: int = 4,
) -> Draft:
    """Return a straight draw with this tie-up."""
    threading = tuple(range(1, shafts + 1))
    return Draft(threading, ("",) * shafts, (), treadles, is_rising_shed, picks)


def tying(kind: str | None, **drafted: Any) -> Stage:
    """Return the tying up of a 2/2 twill on a loom of this kind."""
    fields = {"treadles": TWILL, **drafted}
    return stage(compute(make_plan(straight(8), drafted=fields, loom={"kind": kind})), "tie-up")


def test_eight_shafts_and_ten_treadles_of_a_countermarch_take_eighty_cords() -> None:
    """Every shaft is tied to every treadle (leighsfiberjournal.blogspot.com, May 2024)."""
    treadles = tuple((1 + at % 8, 1 + (at + 3) % 8) for at in range(10))
    plan = tie_up(
        draft(tuple(tuple(sorted(marked)) for marked in treadles), shafts=8), "countermarch"
    )
    assert sum(ties.number for ties in plan.treadles) == 80


@pytest.mark.parametrize(
    ("kind", "rising", "expected"),
    [  # Jack: rising shafts; counterbalance: sinking ones; countermarch: all of them
        # (leighsfiberjournal.blogspot.com, May 2024).
        ("jack", True, Ties(up=(1, 2))),
        ("jack", False, Ties(up=(3, 4))),
        ("counterbalance", True, Ties(down=(3, 4))),
        ("counterbalance", False, Ties(down=(1, 2))),
        ("countermarch", True, Ties((1, 2), (3, 4))),
        ("countermarch", False, Ties((3, 4), (1, 2))),
        (None, True, Ties(up=(1, 2))),
        (None, False, Ties(down=(1, 2))),
    ],
)
def test_a_loom_is_tied_the_way_it_moves(
    *, kind: LoomKind | None, rising: bool, expected: Ties
) -> None:
    """The first treadle of a 2/2 twill on each kind of loom, from marks that rise or sink."""
    plan = tie_up(draft(is_rising_shed=rising), kind)
    assert plan.treadles[0] == expected
    is_turned = kind in {"jack", "counterbalance"} and rising != (kind == "jack")
    assert plan.is_as_marked == (not is_turned)


def test_an_empty_treadle_stays_empty() -> None:
    """A treadle that the plan leaves untied gets no ties on any loom."""
    for kind in KINDS:
        assert tie_up(draft(((1, 2), ())), kind).treadles[1] == Ties()


def test_treadles_pressed_together_leave_the_others_open() -> None:
    """A tie-up that is worked with two treadles at once leaves gaps on purpose
    (fibre2fabric.blogspot.com, September 2007), so only what is marked is tied."""
    together = draft(((1,), (2,)), picks=((1, 2),))
    assert tie_up(together, "countermarch") == TieUpPlan(
        (Ties(up=(1,)), Ties(up=(2,))), is_as_marked=True, is_unsettled=True
    )
    assert not tie_up(together, "jack").is_unsettled


def test_a_shaft_that_is_not_used_is_not_tied() -> None:
    """On a countermarch there are gaps only for unused shafts (fibre2fabric.blogspot.com, July
    2008)."""
    three = Draft((1, 2, 3), ("",) * 3, (), ((1,), (2, 3)))
    assert tie_up(three, "countermarch").treadles == (Ties((1,), (2, 3)), Ties((2, 3), (1,)))


def test_each_treadle_is_told_and_counted() -> None:
    """Treadle 3 of a twill on a countermarch: two up, two down, four ties."""
    lines = printed(walk(tying("countermarch"), QUIET))
    at = lines.index("Treadle 3: shafts 3 and 4 up; shafts 1 and 2 down.")
    assert lines[at + 1 : at + 3] == [
        "Group 3 is complete. How many ties has this treadle?",
        "4 ties, as planned: group 3 is closed.",
    ]
    assert lines[-1] == "Tying up the treadles is complete: 16 ties in 4 groups."


def test_which_way_a_tie_goes_is_told_once() -> None:
    """The marks of the plan, what a tie does on this loom, and whether the others are tied."""
    assert "The plan's tie-up marks the shafts that rise. On a jack loom" in opening(tying("jack"))
    turned = tying("jack", is_rising_shed=False)
    assert "marks the shafts that sink" in opening(turned)
    assert "So the shafts told are not those marked, but the others." in opening(turned)
    assert told(turned)[0] == "treadle 1: shafts 3 and 4"
    # Lower, longer lamms raise and upper, shorter ones sink: leighsfiberjournal, May 2024.
    assert "up to the lower, longer lamms" in opening(tying("countermarch"))


def test_a_treadle_left_untied_keeps_its_number_and_is_not_counted() -> None:
    """Treadle 2 is told as empty, and treadle 3 is still treadle 3."""
    walked = tying("jack", treadles=((1, 3), (), (2, 4)))
    assert told(walked) == [
        "treadle 1: shafts 1 and 3",
        "treadle 2: leave it without ties",
        "treadle 3: shafts 2 and 4",
    ]
    assert [group.expected for group in walked.groups] == [2, 0, 2]


TREADLES = st.lists(
    st.lists(st.integers(1, 4), unique=True, min_size=1, max_size=4).map(sorted).map(tuple),
    min_size=1,
    max_size=5,
).map(tuple)


@untimed
@given(treadles=TREADLES, rising=st.booleans(), kind=st.sampled_from(KINDS))
def test_the_ties_raise_what_the_draft_raises(
    *, treadles: tuple[tuple[int, ...], ...], rising: bool, kind: LoomKind | None
) -> None:
    """Pressed one at a time, the ties lift the shafts that the drawdown's rule lifts."""
    one_each = tuple((number,) for number in range(1, len(treadles) + 1))
    drafted = draft(treadles, is_rising_shed=rising, picks=one_each)
    plan = tie_up(drafted, kind)
    for ties, lifted in zip(plan.treadles, lifted_shafts(drafted), strict=True):
        moves_up = bool(ties.up) or (kind == "jack" or (kind is None and rising))
        raised = set(ties.up) if moves_up else {1, 2, 3, 4} - set(ties.down)
        assert raised == lifted
        assert not set(ties.up) & set(ties.down)


@untimed
@given(job_plans())
def test_the_ties_asked_for_are_the_ties_told(plan: Plan) -> None:
    """At every treadle the count is of the shafts that its step names."""
    if not plan.draft.treadles:
        return
    dressing = compute(plan)
    walked = stage(dressing, "tie-up")
    ties = tie_up(dressing.draft, dressing.loom_kind).treadles
    assert [group.expected for group in walked.groups] == [each.number for each in ties]
    for line, each in zip(told(walked), ties, strict=True):
        words = line.partition(": ")[2].replace(",", " ").replace(";", " ").split()
        named = [int(word) for word in words if word.isdigit()]
        assert sorted(named) == sorted(chain(each.up, each.down))
