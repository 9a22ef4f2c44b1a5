"""The order of colours at the cross where stripes are unequal, beside stripes laid by hand."""

from __future__ import annotations

from typing import Any

import pytest
from job_walker import printed, walk
from small_plans import make_plan, straight

from companion.guide import Options
from companion.job import StageName, stage
from companion.loom.compute import compute

UNEQUAL = ["red"] * 4 + ["blue"] * 3 + ["red"] * 5 + ["blue"] * 2 + ["red"] * 10
"""24 ends: blue stripes of 3 and 2."""


def told(colours: list[str], name: StageName = "thread", **tables: Any) -> list[str]:
    """Return how the groups of a threading begin, 12 ends each."""
    plan = make_plan(
        straight(len(colours)),
        drafted={"colours": tuple(colours)},
        groups={"by": "ends", "size": 12},
        **tables,
    )
    heard = printed(walk(stage(compute(plan), name), Options(opening="brief")))
    return [line for line in heard if line.startswith("Group") and "How many" not in line]


def test_unequal_stripes_are_told_group_by_group() -> None:
    """Ends 1 to 12 are 4 red, 3 blue and 5 red; then 2 blue and 10 red. Group 1 is told even where
    the opening is brief."""
    assert told(UNEQUAL) == [
        "Group 1 of 2. At the cross: 4 red, 3 blue, 5 red.",
        "Group 2. At the cross: 2 blue, 10 red.",
    ]


@pytest.mark.parametrize(
    ("colours", "tables"),
    [
        (["red"] * 4 + ["blue"] * 3 + ["red"] * 5 + ["blue"] * 3 + ["red"] * 9, {}),
        (["red"] * 12 + ["blue"] * 12, {}),
        (UNEQUAL, {"loom": {"method": "front-to-back"}}),
        (UNEQUAL, {"second_beam": {"colour": "blue"}}),
        (UNEQUAL, {"loom": {"thread_first": "blue", "passes": "separate"}}),
    ],
)
def test_elsewhere_nothing_is_told_of_them(colours: list[str], tables: dict[str, Any]) -> None:
    """Equal stripes between the edges; ends from the reed; a cross for each beam or each colour."""
    assert not any("At the cross" in line for line in told(colours, **tables))


def test_from_the_centre_they_are_told_as_the_hand_comes_to_them() -> None:
    """The halves part after end 12: 2 blue and 10 red to the left, then 5 red, 3 blue, 4 red."""
    assert told(UNEQUAL, loom={"thread_from": "centre", "passes": "separate"}) == [
        "Group 1 of 2. At the cross: 2 blue, 10 red.",
        "Group 2. At the cross: 5 red, 3 blue, 4 red.",
    ]
