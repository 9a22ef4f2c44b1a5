"""How many ends a callout takes in hand, and that the place does not depend on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stages import Made, make_stage, stages, straight
from small_plans import make_plan, plans, untimed

from companion.command.size import StepSize, read_size
from companion.job import Stage, StageName, stage
from companion.job.handful import handful
from companion.loom.compute import compute

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

SIZES = st.sampled_from(["1", "2", "3", "4", "8", "24", "unit", "dent", "group"]).map(read_size)
PASSES: tuple[StageName, ...] = ("thread-and-sley", "thread", "sley")


def all_of(walked: Stage, size: StepSize) -> list[tuple[int, int]]:
    """Return the handfuls of a stage, one after the other."""
    found, number = [], 1
    while number <= len(walked.steps):
        found.append(handful(walked, number, size))
        number = found[-1][1] + 1
    return found


@pytest.mark.parametrize("text", ["1", "24", "unit", "dent", "group"])
def test_a_size_reads_as_it_is_written(text: str) -> None:
    """What is kept in the settings is what is read back."""
    assert str(read_size(text)) == text


@pytest.mark.parametrize("text", ["0", "25", "-1", "", "two", "1.5", "\u0663"])
def test_what_is_no_size_is_told(text: str) -> None:
    """One line says what was expected and what came."""
    with pytest.raises(ValueError, match="expected 1 to 24 ends, unit, dent or group, not"):
        read_size(text)


@untimed
@given(stages(), SIZES)
def test_handfuls_take_every_step_once(walked: Stage, size: StepSize) -> None:
    """They follow one another, and from within one the same handful is found."""
    found = all_of(walked, size)
    assert [number for first, last in found for number in range(first, last + 1)] == list(
        range(1, len(walked.steps) + 1)
    )
    for first, last in found:
        assert {handful(walked, number, size) for number in range(first, last + 1)} == {
            (first, last)
        }


@untimed
@given(plans(), st.sampled_from(PASSES), SIZES)
def test_what_a_handful_never_crosses(plan: Plan, name: StageName, size: StepSize) -> None:
    """None crosses a group; ends never cross a unit or a colour; a dent stays one dent."""
    walked = stage(compute(plan), name)
    for first, last in all_of(walked, size):
        steps = walked.steps[first - 1 : last]
        assert len({step.group for step in steps}) == 1
        if size.by == "ends":
            assert len({(step.unit, step.colour) for step in steps}) == 1
            assert len(steps) == 1 or sum(len(step.shafts) for step in steps) <= size.ends
        if size.by == "unit":
            assert len({step.unit for step in steps}) == 1
        if size.by == "dent":
            assert len({step.dents[0] for step in steps if step.dents}) <= 1


def test_a_group_whole_holds_its_units() -> None:
    """Eight ends in two units of one group: one callout by group, two by unit, four by twos."""
    units = [Made((place % 4 + 1,), place // 4) for place in range(8)]
    walked = make_stage("thread", [("", units)], ("block A", "block B"))
    assert all_of(walked, StepSize("group")) == [(1, 8)]
    assert all_of(walked, StepSize("unit")) == [(1, 4), (5, 8)]
    assert all_of(walked, StepSize("ends", 2)) == [(1, 2), (3, 4), (5, 6), (7, 8)]
    assert all_of(walked, StepSize("ends", 3)) == [(1, 3), (4, 4), (5, 7), (8, 8)]


def test_two_ends_in_each_dent_are_taken_dent_by_dent() -> None:
    """Twenty ends an inch in a reed of ten: ends 1 and 2, then 3 and 4."""
    walked = stage(compute(make_plan((1, 2, 3, 4) * 2)), "thread-and-sley")
    assert all_of(walked, StepSize("dent")) == [(1, 2), (3, 4), (5, 6), (7, 8)]


def test_without_the_reed_a_dent_is_no_handful() -> None:
    """When threading alone each end is told by itself."""
    assert all_of(straight(1, name="thread"), StepSize("dent")) == [(n, n) for n in range(1, 5)]
