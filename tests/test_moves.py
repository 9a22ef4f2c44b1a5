"""Heddles moved from shaft to shaft before threading, beside figures computed by hand."""

from __future__ import annotations

from job_walker import told
from small_plans import make_plan, straight

from companion.job import stage, whole_job
from companion.loom.check import contradictions
from companion.loom.compute import compute
from companion.out.paper.sheets import sheets
from companion.out.report import report


def test_heddles_are_moved_shaft_by_shaft() -> None:
    """Each shaft needs 10. Shaft 1 has 16, so 6 to spare: 4 go to shaft 2, which has 6, and 2 to
    shaft 3, which has 7 and gets 1 more from shaft 4, which has 12."""
    dressing = compute(make_plan(straight(40), loom={"heddles": [16, 6, 7, 12]}))
    assert [tuple(move) for move in dressing.moves] == [(4, 1, 2), (2, 1, 3), (1, 4, 3)]
    assert [row.have for row in dressing.heddles] == [10, 10, 10, 11]
    order = whole_job(dressing)
    assert order[order.index("heddles") - 1] == "move-heddles"
    walked = stage(dressing, "move-heddles")
    assert told(walked) == [
        "from shaft 1 to shaft 2: move 4 heddles",
        "from shaft 1 to shaft 3: move 2 heddles",
        "from shaft 4 to shaft 3: move 1 heddle",
    ]
    assert [group.expected for group in walked.groups] == [4, 2, 1]
    assert "Before threading, move 4 heddles from shaft 1 to shaft 2." in list(report(dressing))
    (sheet,) = (sheet for sheet in sheets(dressing) if sheet.name == "heddles")
    assert "Before threading, move 1 heddle from shaft 4 to shaft 3." in sheet.intro
    spare = [left.planned for left in stage(dressing, "thread").left_over]
    assert spare == [0, 0, 0, 1]


def test_nothing_is_moved_where_there_are_enough_or_too_few_in_all() -> None:
    """40 heddles for 40 ends move; 39 are refused with what to add."""
    assert compute(make_plan(straight(40), loom={"heddles": [10, 10, 10, 10]})).moves == ()
    (problem,) = contradictions(make_plan(straight(40), loom={"heddles": [12, 10, 7, 10]}))
    assert problem.mend == "Add 3 to shaft 3, or move 2 spare heddles from shaft 1 and add 1"
