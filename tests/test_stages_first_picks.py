"""The first picks: check sheds for this very threading, waste, and what a fault means."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from job_walker import job_plans, notes_of, printed, walk
from small_plans import make_plan, straight, untimed

from companion.command import Command, Kind, parse
from companion.guide import Options
from companion.guide.messages import GroupStart
from companion.job import Stage, stage
from companion.loom.compute import compute
from companion.loom.first_picks import Shed, first_picks, presses_of
from companion.loom.tie_up import TieUpPlan, tie_up
from companion.plan.draft.draft import Draft
from companion.wording import Style, render
from companion.wording.callouts import describe
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def picks_of(shafts: tuple[int, ...], **drafted: Any) -> Stage:
    """Return the first picks of a threading."""
    return stage(compute(make_plan(shafts, drafted=drafted)), "first-picks")


def told(walked: Stage, group: int) -> list[str]:
    """Return the steps of one group."""
    return [describe(step, walked) for step in walked.steps if step.group == group]


def test_a_straight_draw_is_looked_across_in_two_sheds() -> None:
    """Shafts 1 and 3 against 2 and 4 (weavingspace.co.uk, twills on four shafts)."""
    walked = picks_of(straight(40))
    assert told(walked, 1) == ["shed 1: raise shafts 1 and 3", "shed 2: raise shafts 2 and 4"]
    waste = "weave 6 picks of waste with sheds 1 and 2 by turns, and beat them close"
    assert told(walked, 2) == [waste]


def test_the_stage_is_called_by_what_is_done_as_the_others_are() -> None:
    """One thing is complete: "First picks is complete" was no sentence."""
    last = printed(walk(picks_of(straight(40)), Options()))[-1]
    assert last.startswith("Weaving the first picks is complete: 10 steps in 3 groups")


@pytest.mark.parametrize(
    ("name", "sheds"),
    [
        # Bronson lace sets shaft 1 against the others (gistyarn.com, lace, part three).
        ("1-3-1-3-1-2", [(1,), (2, 3)]),
        # Summer and winter sets both tie-downs against the pattern shafts
        # (leighsfiberjournal.blogspot.com, October 2008).
        ("1-3-2-3", [(1, 2), (3,)]),
        # Huck sets shafts 1 and 4 against 2 and 3 (gistyarn.com, lace, part three).
        ("1-3-1-3-1-2-4-2-4-2", [(1, 4), (2, 3)]),
    ],
)
def test_other_threadings_have_sheds_of_their_own(name: str, sheds: list[tuple[int, ...]]) -> None:
    """Plain cloth is not always 1 and 3 against 2 and 4."""
    shafts = tuple(int(shaft) for shaft in name.split("-")) * 2
    found = first_picks(compute(make_plan(shafts)))
    assert found.is_plain
    assert [shed.shafts for shed in found.sheds] == sheds


def test_where_there_is_no_such_pair_each_shaft_is_raised_alone() -> None:
    """M's and O's have no plain weave (leighsfiberjournal.blogspot.com, February 2008), and a
    broken twill of 8 ends has none by computation."""
    broken = (1, 2, 3, 4, 2, 1, 4, 3)
    for shafts in ((1, 2, 1, 2, 3, 4, 3, 4, 1, 3, 1, 3, 2, 4, 2, 4), broken * 2):
        walked = picks_of(shafts)
        assert told(walked, 1) == [f"shed {shaft}: raise shaft {shaft}" for shaft in (1, 2, 3, 4)]
        assert "so each shaft is raised alone" in opening(walked)
        assert "with one shaft after the other" in told(walked, 2)[0]


def test_the_treadles_that_open_the_sheds_are_named() -> None:
    """One treadle, two together, or in a sinking shed the one with the other shafts."""
    one = picks_of(straight(8), treadles=((1, 3), (2, 4)))
    assert told(one, 1)[0] == "shed 1: raise shafts 1 and 3 with treadle 1"
    two = picks_of(straight(8), treadles=((1,), (2,), (3,), (4,)))
    assert told(two, 1)[1] == "shed 2: raise shafts 2 and 4 with treadles 2 and 4 together"
    sinking = picks_of(straight(8), treadles=((1, 3), (2, 4)), is_rising_shed=False)
    assert told(sinking, 1)[0] == "shed 1: raise shafts 1 and 3 with treadle 2"
    none = picks_of(straight(8), treadles=((1, 2), (3, 4)))
    assert told(none, 1)[0] == "shed 1: raise shafts 1 and 3"


def test_an_empty_treadle_opens_nothing() -> None:
    """An untied treadle of a sinking shed would leave all shafts up, and moves none."""
    lone = Draft((1,), ("",), (), treadles=((),), is_rising_shed=False)
    assert presses_of(tie_up(lone, None), frozenset({1})) == {}


def test_without_a_pair_the_waste_follows_the_treadling() -> None:
    """There is nothing plainer to weave it in."""
    walked = picks_of((1, 1, 2, 2), treadles=((1,), (2,)), picks=((1,), (2,)))
    assert "as the treadling of the plan begins" in told(walked, 2)[0]


def test_every_fault_is_told_with_what_it_means() -> None:
    """Common practice, no source: what is seen or felt, then its cause."""
    faults = told(picks_of(straight(8)), 3)
    assert [fault.partition(":")[0] for fault in faults] == [
        "two neighbours always together",
        "a gap along the cloth",
        "a dense line along the cloth",
        "an end that never comes up",
        "an end in between the layers of a shed",
        "a kink in a slanting line",
        "a whole stretch turned or shifted",
    ]


def test_where_a_fault_is_found_the_group_is_asked_for() -> None:
    """It can lie in any group, so none is named: "look at a group" asks which."""
    walked = picks_of(straight(8))
    start = render(GroupStart(stage=walked, group=walked.groups[2]), Style()).text
    assert "If you find one, say look at a group;" in start
    assert parse("look at a group") == Command(Kind.LOOK)


def test_neighbours_alike_on_purpose_are_no_fault() -> None:
    """Repeated shafts are legal in undulating threadings, and doubled ends share a heddle."""
    undulating = picks_of((1, 2, 3, 3, 4, 4))
    assert "In this threading 2 pairs are meant to be so." in notes_of(undulating).values()
    doubled = stage(compute(make_plan(straight(8), selvedges={"doubled": 1})), "first-picks")
    assert "In this threading 2 pairs are meant to be so." in notes_of(doubled).values()
    assert not any("meant to be so" in note for note in notes_of(picks_of(straight(8))).values())


@untimed
@given(job_plans())
def test_sheds_part_all_neighbours_or_show_every_shaft(plan: Plan) -> None:
    """In a pair of sheds neighbours never stand on one side; else each shaft threaded has a shed.
    Treadles named for a shed raise just its shafts."""
    draft = plan.draft
    dressing = compute(plan)
    found = first_picks(dressing)
    if found.is_plain:
        first = set(found.sheds[0].shafts)
        sides = [shaft in first for shaft in draft.shafts]
        assert all(one != other for one, other in pairwise(sides))
    else:
        assert [shed.shafts for shed in found.sheds] == [(s,) for s in sorted(set(draft.shafts))]
    for shed in found.sheds:
        assert_opened(shed, draft, dressing.tie_up)


def assert_opened(shed: Shed, draft: Draft, ties: TieUpPlan | None) -> None:
    """Check the treadles of a shed against the tie-up by hand, as the plan or the loom has it."""
    if not shed.treadles or ties is None:
        return
    if ties.way == "a-shed-each":  # the loom has other treadles than the plan then
        pressed = [ties.treadles[treadle - 1] for treadle in shed.treadles]
        up = {shaft for tied in pressed for shaft in tied.up}
        above = up or set(draft.shafts) - {shaft for tied in pressed for shaft in tied.down}
    else:
        moved = {shaft for treadle in shed.treadles for shaft in draft.treadles[treadle - 1]}
        above = moved if draft.is_rising_shed else set(draft.shafts) - moved
    assert above & set(draft.shafts) == set(shed.shafts)
