"""A new warp knotted to the old one, beside figures computed by hand."""

from __future__ import annotations

import pytest
from job_walker import named, told, walk
from small_plans import make_plan, straight

from companion.command.size import read_size
from companion.guide import Options
from companion.guide import messages as m
from companion.job import stage, threading_of, whole_job
from companion.loom.check import contradictions
from companion.loom.compute import compute


@pytest.mark.parametrize(
    ("method", "order", "way"),
    [
        (
            "back-to-front",
            ("wind", "raddle", "beam", "knot", "tie-on", "first-picks"),
            "heddles and reed",
        ),
        (
            "front-to-back",
            ("wind", "knot", "tie-on-rear", "beam", "tie-on", "first-picks"),
            "reed and heddles",
        ),
    ],
)
def test_knots_take_the_place_of_threading(method: str, order: tuple[str, ...], way: str) -> None:
    """26 heddles, the outer two doubled, are 28 ends: 28 knots, counted by 24 and 4."""
    plan = make_plan(
        straight(26), selvedges={"doubled": 1}, raddle={"sections_per_inch": 2},
        loom={"method": method}, groups={"by": "ends"}, old_warp={"ends": 28},
    )  # fmt: skip
    dressing = compute(plan)
    assert whole_job(dressing) == order
    walked = stage(dressing, "knot")
    assert [group.expected for group in walked.groups] == [24, 4, 0]
    assert named(walked) == ["ends 1 to 24", "ends 25 to 28", "drawing through"]
    assert told(walked)[:2] == ["end 1", "end 2"]
    assert told(walked)[-1] == (
        f"draw the knots through {way}, a few at a time, and never force one"
    )
    assert threading_of(walked).name == "thread"


def test_knots_are_told_one_by_one_or_several_together() -> None:
    """In fours the 12 knots of a group of 12 are three callouts, each of neighbouring ends."""
    plan = make_plan(straight(12), groups={"by": "ends"}, old_warp={"ends": 12})
    walked = stage(compute(plan), "knot")
    said = walk(walked, Options(size=read_size("4"), ask_left=False))
    calls = [message for message in said if isinstance(message, m.StepCall)]
    assert [[step.first_end for step in call.steps] for call in calls[:3]] == [
        [1, 2, 3, 4],
        [5, 6, 7, 8],
        [9, 10, 11, 12],
    ]


def test_both_warps_must_have_as_many_ends() -> None:
    """One end over would find no partner."""
    plan = make_plan(straight(12), old_warp={"ends": 11})
    (problem,) = contradictions(plan)
    assert problem.fault == "expected as many ends as the 12 of the new warp, found 11"
    assert problem.mend.startswith("Make the new warp of 11 ends")
