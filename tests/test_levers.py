"""Table looms and dobbies: what is lifted and pegged, beside figures computed by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from job_walker import named, told
from plan_tables import plan_of

from companion.job import LeftOut, left_out, stage, whole_job
from companion.loom.compute import compute_text
from companion.out.paper.sheets import sheets
from companion.plan.draft.build import compose

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing

PLAN = """
title = "Levers"
[warp]
ends_per_inch = 10
[reed]
dents_per_inch = 10
width = 20
[loom]
shafts = 4
kind = "{kind}"
[[threading]]
ends = "1 to 4"
times = 5
{rest}
"""
TWILL = """
[tie_up]
shed = "{shed}"
treadles = ["1-2", "2-3", "3-4", "1-4"]
[[treadling]]
picks = "1 to 4"
times = 6
"""
PEGS = """
[[lifts]]
times = 3
parts = [{ shafts = "1+2, 2+3", times = 2 }, { shafts = "4" }]
"""


def dressed(kind: str, rest: str) -> Dressing:
    """Return a straight draw on a loom of this kind."""
    return compute_text(PLAN.format(kind=kind, rest=rest), "levers.toml")[1]


def test_a_tie_up_becomes_the_lift_plan_of_a_table_loom() -> None:
    """2/2 twill by hand: treadle 1 raises shafts 1 and 2, and so on, six times four picks."""
    dressing = dressed("table", TWILL.format(shed="rising"))
    assert dressing.draft.lifts == ((1, 2), (2, 3), (3, 4), (1, 4)) * 6
    assert dressing.tie_up is None
    assert left_out(dressing)["tie-up"] is LeftOut.LEVERS
    assert "tie-up" not in whole_job(dressing)


def test_levers_raise_what_a_sinking_tie_up_leaves_up() -> None:
    """A treadle that lowers shafts 1 and 2 leaves 3 and 4 up, so their levers are pulled."""
    assert dressed("table", TWILL.format(shed="sinking")).draft.lifts[:2] == ((3, 4), (1, 4))


def test_a_dobby_is_pegged_for_one_repeat() -> None:
    """5 bars by hand, 1-2, 2-3, 1-2, 2-3, 4, go round three times: 9 pegs in two groups."""
    dressing = dressed("dobby", PEGS)
    assert dressing.pegged == ((1, 2), (2, 3), (1, 2), (2, 3), (4,))
    assert len(dressing.draft.lifts) == 15
    walked = stage(dressing, "peg")
    assert told(walked)[3:] == ["bar 4: pegs 2 and 3", "bar 5: peg 4"]
    assert sum(group.expected for group in walked.groups) == 9
    assert named(walked) == ["bars 1 and 2", "bars 3 to 5"]
    (sheet,) = (sheet for sheet in sheets(dressing) if sheet.name == "peg list")
    assert [line.pieces for line in sheet.lines] == [("1 2",), ("2 3",), ("1 2",), ("2 3",), ("4",)]
    assert sheet.intro[-1] == "The bars go round 3 times."


def test_a_dobby_without_a_lift_plan_is_told_so() -> None:
    """There is nothing to peg."""
    dressing = dressed("dobby", "")
    assert left_out(dressing)["peg"] is LeftOut.NO_LIFTS
    assert "peg" not in whole_job(dressing)


@pytest.mark.parametrize(
    ("tables", "fault"),
    [
        (
            {"lifts": [{"shafts": "1+3"}], "treadling": [{"picks": "1"}]},
            "expected the picks once, and both lifts and treadling give them",
        ),
        (
            {"lifts": [{"shafts": "1+x"}]},
            'expected a number, not "x" at character 3',
        ),
    ],
)
def test_lifts_that_cannot_be(tables: dict[str, Any], fault: str) -> None:
    """They are given once, and as numbers."""
    _, faults = compose(plan_of([{"ends": "1-2"}], **tables))
    assert [each.fault for each in faults] == [fault]
