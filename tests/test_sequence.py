"""The steps of each pass: every end once, in order, and words that say from where."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from job_walker import named
from small_plans import make_plan, plans, straight, units_of, untimed

from companion.job import Stage, StageName, Step, StepGroup, stage, stages
from companion.loom.compute import compute
from companion.loom.dressing import GroupName, NumberSpan
from companion.loom.threading_order import as_threaded
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing
    from companion.plan.file.reader import Plan

STAGES: tuple[StageName, ...] = ("thread-and-sley", "thread", "sley")


def stage_of(plan: Plan, name: StageName) -> Stage:
    """Return a stage of a plan."""
    return stage(compute(plan), name)


def walked_order(plan: Plan, name: StageName) -> Dressing:
    """Return a plan's dressing with its ends as a stage comes to them."""
    return compute(plan) if name == "sley" else as_threaded(compute(plan))


def start_of(name: StageName = "thread-and-sley", **loom: str) -> str:
    """Return the opening words for 480 ends at 20 in a 12-dent reed of 36 inches."""
    plan = make_plan(straight(480), dents=12, reed_width=36, loom=loom)
    return opening(stage_of(plan, name))


def test_one_end_a_step() -> None:
    """End 3 of a straight draw, two in a dent: shaft 3, dent 2, in the first unit and group."""
    steps = stage_of(make_plan(straight(8)), "thread-and-sley").steps
    assert len(steps) == 8
    assert steps[2] == Step(
        number=3,
        first_end=3,
        last_end=3,
        shafts=(3,),
        dents=(2,),
        empty_dents=0,
        colour="",
        is_new_colour=False,
        group=1,
        unit=0,
    )


def test_two_ends_in_one_heddle_are_one_step() -> None:
    """The doubled first and last heddles are steps of their own, not two."""
    plan = make_plan(straight(6), selvedges={"doubled": 1})
    steps = stage_of(plan, "thread").steps
    assert [step.shafts for step in steps] == [(1, 1), (2,), (3,), (4,), (1,), (2, 2)]
    assert [step.is_doubled for step in steps] == [True, False, False, False, False, True]
    assert (steps[0].first_end, steps[0].last_end) == (1, 2)


def test_two_neighbours_on_one_shaft_are_not_doubled() -> None:
    """Repeated shafts are legal in undulating and extended threadings."""
    plan = make_plan((1, 1, 2, 2))
    steps = stage_of(plan, "thread").steps
    assert [step.shafts for step in steps] == [(1,), (1,), (2,), (2,)]
    assert not any(step.is_doubled for step in steps)


def test_floating_selvedges_are_steps_in_the_reed_only() -> None:
    """They come first and last with the reed, are no ends, and are absent without it."""
    plan = make_plan(straight(8), selvedges={"floating": 1})
    together = stage_of(plan, "thread-and-sley")
    assert together.steps[0] == Step(
        1, 0, 0, (), (1,), 0, "", False, 1, -1, is_floating=True, amount=0
    )
    assert together.steps[-1].dents == (6,)
    assert together.groups == (
        StepGroup(1, GroupName(stretches=(NumberSpan("pattern", 1, 2),)), 1, 10, expected=8),
    )
    assert stage_of(plan, "thread").groups == (
        StepGroup(1, GroupName(stretches=(NumberSpan("pattern", 1, 2),)), 1, 8, expected=8),
    )


def test_a_floating_selvedge_dent_is_counted_among_the_dents() -> None:
    """Sleying counts dents that hold an end: four with two ends each and the two selvedges."""
    plan = make_plan(straight(8), selvedges={"floating": 1})
    assert stage_of(plan, "sley").groups == (StepGroup(1, GroupName(), 1, 6, expected=6),)


def test_empty_dents_come_before_the_step() -> None:
    """At 5 ends in 10 dents every end but the first leaves a dent empty before it."""
    steps = stage_of(make_plan(straight(4), sett=5), "thread-and-sley").steps
    assert [step.dents for step in steps] == [(1,), (3,), (5,), (7,)]
    assert [step.empty_dents for step in steps] == [0, 1, 1, 1]


def test_sleying_goes_dent_by_dent() -> None:
    """1-2-2 gives steps of one, two and two ends with the shafts they come from."""
    plan = make_plan(straight(10), dents=12)
    steps = stage_of(plan, "sley").steps
    assert [step.shafts for step in steps] == [(1,), (2, 3), (4, 1), (2,), (3, 4), (1, 2)]
    assert [step.dents for step in steps][:2] == [(1,), (2, 2)]


def test_a_dent_names_each_of_its_colours() -> None:
    """Black and white in turn, two to a dent, is one thing to say once."""
    plan = make_plan(straight(8), drafted={"colours": ("black", "white") * 4})
    steps = stage_of(plan, "sley").steps
    assert {step.colour for step in steps} == {"black and white"}
    assert [step.is_new_colour for step in steps] == [True, False, False, False]


def test_sleying_is_checked_about_every_inch() -> None:
    """12 dents to the inch at 1-2-2: 12 dents and 20 ends; 8 at 1-1-2: 9 dents, whole passes."""
    inch = stage_of(make_plan(straight(50), dents=12), "sley")
    assert named(inch) == ["dents 1 to 12", "dents 13 to 24", "dents 25 to 30"]
    assert [group.expected for group in inch.groups] == [12, 12, 6]
    near = stage_of(make_plan(straight(24), sett="32/3", dents=8), "sley").groups
    assert [group.expected for group in near] == [9, 9]


def test_threading_groups_are_those_of_the_dressing() -> None:
    """Steps, names and ends of each group."""
    plan = make_plan(straight(24), groups={"by": "repeat", "size": 3})
    assert stage_of(plan, "thread").groups == (
        StepGroup(1, GroupName(stretches=(NumberSpan("pattern", 1, 3),)), 1, 12, expected=12),
        StepGroup(2, GroupName(stretches=(NumberSpan("pattern", 4, 6),)), 13, 24, expected=12),
    )


def test_units_are_named_for_the_ear() -> None:
    """Each step knows the unit of its first end, and each unit its name."""
    units = units_of(16, length=4, names=("block A", "block B"))
    walked = stage_of(make_plan(straight(16), drafted={"units": units}), "thread")
    assert walked.unit_names == ("block A", "block B", "block A", "block B")
    assert [step.unit for step in walked.steps] == [0] * 4 + [1] * 4 + [2] * 4 + [3] * 4


@pytest.mark.parametrize(
    ("method", "passes", "expected"),
    [
        ("back-to-front", "together", ("thread-and-sley",)),
        ("back-to-front", "separate", ("thread", "sley")),
        # Front to back sleys before it threads: vermontweavingsupplies.com, front-to-back course.
        ("front-to-back", "separate", ("sley", "thread")),
        ("front-to-back", "together", ("thread-and-sley",)),
    ],
)
def test_passes_come_in_the_order_of_the_method(
    method: str, passes: str, expected: tuple[str, ...]
) -> None:
    """The plan's method and passes decide which stages there are and which is first."""
    plan = make_plan(straight(8), loom={"method": method, "passes": passes})
    assert stages(compute(plan)) == expected


def test_the_opening_names_edge_dent_and_shaft() -> None:
    """480 ends at 20 in a 12-dent reed of 36 inches start in dent 73 (computed by hand)."""
    assert start_of() == (
        "Start at the right edge, seen from the front of the loom, and work towards the left. "
        "Dent 1 is dent 73 of the reed, counted from its right end, seen from the front of the "
        "loom: leave 72 empty. "
        "Shaft 1 is the front shaft, nearest the breast beam."
    )


def test_from_behind_the_loom_the_sides_are_exchanged() -> None:
    """Front to back is threaded sitting behind the loom, so both views are given ("Why Are
    Threading Drafts Read from Right to Left?", interweave.com)."""
    assert (
        "Seen from behind the loom, at the warp beam, that is the left edge, and the work goes "
        "towards the right."
    ) in start_of("thread", method="front-to-back")
    assert "behind" not in start_of("sley", method="front-to-back")
    assert "behind" not in start_of("thread")


def test_a_left_start_and_a_rear_first_shaft() -> None:
    """Swedish books number shafts from the rear (bergdalaspinnhus.com, on detaljsolvning)."""
    opening = start_of(first_end="left", shaft_one="back")
    assert opening.startswith("Start at the left edge, seen from the front of the loom, and work")
    assert "counted from its left end, seen from the front" in opening
    assert opening.endswith("Shaft 1 is the rear shaft, nearest the warp beam.")


def test_a_full_reed_starts_in_its_first_dent() -> None:
    """240 ends at 10 fill an 8-dent reed of 24 inches, with nothing to leave empty."""
    plan = make_plan(straight(240), sett=10, dents=8, reed_width=24)
    assert "Dent 1 is the reed's own first dent at that edge." in opening(stage_of(plan, "sley"))


def test_the_opening_says_what_to_do_with_floating_selvedges() -> None:
    """In the reed they are sleyed alone; in the heddles they are left out."""
    plan = make_plan(straight(8), selvedges={"floating": 1})
    assert (
        "A floating selvedge comes first and another last: one to a dent, and in no heddle."
    ) in opening(stage_of(plan, "sley"))
    assert "Leave the floating selvedge at each edge out" in opening(stage_of(plan, "thread"))


@untimed
@given(plans(), st.sampled_from(STAGES))
def test_every_end_is_handled_once_in_order(plan: Plan, name: StageName) -> None:
    """The steps, strung together, are the ends in order with their own shafts and dents."""
    dressing = walked_order(plan, name)
    walked = stage(dressing, name)
    held = [step for step in walked.steps if not step.is_floating]
    assert [step.number for step in walked.steps] == list(range(1, len(walked.steps) + 1))
    numbers = [end for step in held for end in range(step.first_end, step.last_end + 1)]
    assert numbers == [end.number for end in dressing.ends]
    assert [shaft for step in held for shaft in step.shafts] == [end.shaft for end in dressing.ends]
    dents = [dent for step in held for dent in step.dents]
    assert dents == ([] if name == "thread" else [end.dent for end in dressing.ends])
    assert len(walked.steps) - len(held) == (0 if name == "thread" else 2 * dressing.sley.floating)


@untimed
@given(plans(), st.sampled_from(STAGES))
def test_groups_hold_every_step_once(plan: Plan, name: StageName) -> None:
    """Groups of steps follow on one another, and what they expect adds up to the whole."""
    dressing = walked_order(plan, name)
    walked = stage(dressing, name)
    spans = [
        step.number
        for group in walked.groups
        for step in walked.steps[group.first_step - 1 : group.last_step]
        if step.group == group.number
    ]
    assert spans == [step.number for step in walked.steps]
    total = sum(group.expected for group in walked.groups)
    used = sum(1 for count in dressing.sley.counts if count)
    assert total == (used if name == "sley" else len(dressing.ends))
    if name != "sley":
        assert [group.name for group in walked.groups] == [group.name for group in dressing.groups]


@untimed
@given(plans(), st.sampled_from(["thread-and-sley", "sley"]))
def test_dents_left_empty_are_those_of_the_sley(plan: Plan, name: StageName) -> None:
    """Dents left empty before and inside steps, and dents filled, are all the dents used.

    A colour that is threaded first leaves dents to the others, so it has the reed to itself.
    """
    dressing = compute(plan)
    assume(name == "sley" or not dressing.thread_first)
    steps = stage(dressing, name).steps
    inside = sum(max(0, abs(b - a) - 1) for step in steps for a, b in pairwise(step.dents))
    left = sum(step.empty_dents for step in steps)
    assert left + inside == dressing.sley.counts.count(0)


@untimed
@given(plans(), st.sampled_from(STAGES))
def test_no_side_is_named_without_a_point_of_view(plan: Plan, name: StageName) -> None:
    """Every sentence of the opening that says left or right says from where it is seen."""
    for sentence in re.split(r"(?<=\.) ", opening(stage_of(plan, name))):
        if re.search(r"\b(left|right)\b", sentence):
            assert re.search(r"\bseen from (the front of|behind) the loom\b", sentence.lower())
