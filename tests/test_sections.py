"""Winding straight onto a divided beam, beside figures computed by hand."""

from __future__ import annotations

from typing import Any

import pytest
from job_walker import named, told
from small_plans import make_plan, straight

from companion.guide.messages import Mode, Where
from companion.job import left_out, stage, whole_job
from companion.loom.check import contradictions
from companion.loom.compute import compute
from companion.out.paper.sheets import sheets
from companion.wording import Style, render
from companion.wording.cautions import DANGERS

LENGTH = {"finished": 60, "take_up": "10 %", "shrinkage": "0 %", "loom_waste": 30}


def plan_of(ends: int, sett: int, **beam: Any) -> Any:
    """Return a straight draw in stripes of 10 white and 5 blue, for a divided beam."""
    colours = tuple(("white",) * 10 + ("blue",) * 5) * (ends // 15 + 1)
    return make_plan(
        straight(ends), sett=sett, dents=sett, reed_width=20, length=LENGTH,
        beam={"around": 20, **beam}, drafted={"colours": colours[:ends]},
    )  # fmt: skip


def test_each_section_has_its_ends_colours_and_turns() -> None:
    """40 ends at 10 an inch lie 15 over each inch and a half; 60 / 0.9 + 30 = 96 2/3 inches are 5
    turns of 20; of 9 sections 3 are used, so 3 stay empty on each side."""
    dressing = compute(plan_of(40, 10, section_width="3/2", sections=9))
    plan = dressing.sections
    assert plan is not None
    assert (plan.counts, plan.turns) == ((15, 15, 10), 5)
    assert (plan.empty_before, plan.empty_after) == (3, 3)
    walked = stage(dressing, "wind-sections")
    assert [group.expected for group in walked.groups] == [15, 15, 10]
    assert named(walked) == ["section 1", "section 2", "section 3"]
    assert told(walked)[4:] == [
        "section 3: 10 ends, white",
        "wind 5 turns, flat and even; tie the ends in their order, then cut them",
    ]
    assert told(walked)[0] == "section 1: 15 ends: 10 white, 5 blue"
    assert whole_job(dressing)[:2] == ("wind-sections", "heddles")
    assert "raddle" not in left_out(dressing)
    (sheet,) = (each for each in sheets(dressing) if each.name == "sections of the beam")
    assert [line.span for line in sheet.lines] == ["1 to 15", "16 to 30", "31 to 40"]


def test_where_am_i_tells_the_colours_of_a_section_once() -> None:
    """The section itself names them, with how many ends each has."""
    walked = stage(compute(plan_of(40, 10, section_width="3/2", sections=9)), "wind-sections")
    asked = Where(walked, walked.groups[2], Mode.WALKING, walked.steps[4], 4)
    assert render(asked, Style()).text == (
        "Next, section 3: 10 ends, white. Group 3 of 3. 2 to go."
    )


def test_its_caution_is_of_the_beam_the_running_yarn_and_the_dust() -> None:
    """As of winding and of beaming, since both are done at once; a doctor is named."""
    walked = stage(compute(plan_of(40, 10, section_width="3/2")), "wind-sections")
    assert walked.danger is not None
    told_ = DANGERS[walked.danger]
    assert all(word in told_ for word in ("turns with force", "running yarn", "dust", "a doctor"))


def test_half_an_end_over_goes_by_turns() -> None:
    """5 ends an inch over 2 1/2 inches are 12 and 13 by turns; 30 ends leave 5."""
    plan = compute(plan_of(30, 5, section_width="5/2")).sections
    assert plan is not None
    assert plan.counts == (12, 13, 5)
    assert plan.empty_before is None


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ({"length": None}, "expected [length] for the turns of each section to go by"),
        ({"loom": {"method": "front-to-back"}}, "expected a loom dressed from back to front"),
        ({"second_beam": {"order": "1-2"}}, "expected one warp for a beam in sections"),
        (
            {"beam": {"around": 20, "section_width": 1, "sections": 2}},
            "expected a warp within the beam's 2 sections, but 40 ends take 4",
        ),
    ],
)
def test_sections_that_cannot_be(changed: dict[str, Any], fault: str) -> None:
    """Each is told with its mend."""
    tables: dict[str, Any] = {"length": LENGTH, "beam": {"around": 20, "section_width": 1}}
    plan = make_plan(straight(40), sett=10, dents=10, reed_width=20, **{**tables, **changed})
    (problem,) = contradictions(plan)
    assert problem.fault.startswith(fault)
