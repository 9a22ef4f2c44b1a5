"""Two warps on two beams, beside figures computed by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from job_walker import told
from small_plans import make_plan, straight, units_of
from test_guide_walk import QUIET, Weaver

from companion.job import stage, whole_job
from companion.job.contents import Turns
from companion.loom.check import contradictions
from companion.loom.compute import compute
from companion.out.paper.sheets import sheets

LENGTH = {"finished": 60, "take_up": "10 %", "shrinkage": "0 %", "loom_waste": 30}
YARN = ({"use": "warp", "size": "8/2 cotton"},)


def plan_of(**second: Any) -> Any:
    """Return 24 ends at 10 an inch, one a dent, on a loom with a second beam."""
    return make_plan(
        straight(24), sett=10, dents=10, reed_width=4, raddle={"sections_per_inch": 2},
        length=LENGTH, beam={"around": 20}, yarn=YARN, second_beam=second,
    )  # fmt: skip


def test_each_warp_has_its_own_ends_length_sections_and_turns() -> None:
    """Shafts 3 and 4 on beam 2: ends 3, 4, 7, 8 ... Beam 1 needs 60 / 0.9 + 30 = 96 2/3 inches,
    wound to 99; beam 2, 60 / 0.75 + 30 = 110, wound to 117. Five dents lie under a section, so the
    sections hold 3 of ends 1, 2, 5 and 2 of ends 3, 4, and so on by turns; less 12 inches the turns
    are 87 / 20 and 105 / 15."""
    dressing = compute(plan_of(shafts="3-4", take_up="25 %", around=15))
    first, second = dressing.warps
    assert [end.beam for end in dressing.ends[:8]] == [1, 1, 2, 2, 1, 1, 2, 2]
    assert (len(first.ends), len(second.ends)) == (12, 12)
    assert first.yarns is not None
    assert second.yarns is not None
    assert [warp.yarns.wind for warp in (first, second) if warp.yarns] == [99, 117]
    assert first.raddle is not None
    assert second.raddle is not None
    assert first.raddle.counts == (3, 3, 2, 2, 2)
    assert second.raddle.counts == (2, 2, 3, 3, 2)
    turns = {name: stage(dressing, name).steps for name in ("beam", "beam-second")}
    assert [sum(isinstance(step.content, Turns) for step in steps) for steps in turns.values()] == [
        4,
        7,
    ]
    assert dressing.yarns is not None
    (need,) = dressing.yarns.needs
    assert need.threads == 24
    assert need.need.metres == 12 * (99 + 117) * Fraction(254, 10000)


def test_what_changes_at_every_end_is_told_once() -> None:
    """Two colours and two beams by turns, as for a double cloth: named where they begin, and then
    the shafts alone; where three white ends break the turns, colours are named as ever."""
    colours = (*("white", "grey") * 8, "white", "white", "white", *("grey", "white") * 2, "grey")
    plan = make_plan(
        straight(24), second_beam={"order": "1-2"}, drafted={"colours": colours},
        loom={"passes": "separate"}, groups={"by": "ends", "size": 24},
    )  # fmt: skip
    weaver = Weaver(stage(compute(plan), "thread"), replace(QUIET, detail="short"))
    assert weaver.say("unit by unit")[-1] == (
        "White and grey by turns. Beams 1 and 2 by turns. Shafts 1, 2, 3, 4."
    )
    assert weaver.say("done", "done", "done")[-1] == "Shafts 1, 2, 3, 4."
    assert weaver.say("done")[-1] == (
        "White, beam 1. Shaft 1. Beam 2. Shaft 2. Beam 1. Shaft 3. Grey, beam 2. Shaft 4."
    )
    assert weaver.say("repeat")[-1].startswith("White, beam 1. Shaft 1.")
    assert weaver.say("one by one")[-1] == "White, beam 1. Shaft 1."


def test_a_unit_is_numbered_once_however_many_colours_it_has() -> None:
    """The second of a name is "unit 2", said where it begins and not again at a colour."""
    colours = ("white",) * 4 + ("white", "white", "grey", "grey")
    units = units_of(8, length=4, names=("straight",))
    plan = make_plan(straight(8), drafted={"colours": colours, "units": units})
    weaver = Weaver(stage(compute(plan), "thread"), QUIET)
    assert weaver.say("unit by unit", "tell everything", "done")[-1] == (
        "Unit 2. Ends 5 and 6: shafts 1, 2. Grey. Ends 7 and 8: shafts 3, 4."
    )


def test_the_beam_is_told_where_it_changes() -> None:
    """By turns of two heddles: the order 1-1-2 gives every third heddle to beam 2."""
    dressing = compute(plan_of(order="1-1-2"))
    walked = stage(dressing, "thread")
    assert [step.beam for step in walked.steps[:6]] == [1, 1, 2, 1, 1, 2]
    assert told(stage(dressing, "wind-second"))[-1].endswith("wind the first 8 of 8 ends")
    order = whole_job(dressing)
    assert order[:6] == ("wind", "wind-second", "raddle", "beam", "raddle-second", "beam-second")
    names = [sheet.name for sheet in sheets(dressing)]
    assert "winding of the second warp" in names
    assert "raddle for the second warp" in names


@pytest.mark.parametrize(
    ("second", "loom", "fault"),
    [
        (
            {"shafts": "1 to 4"},
            {},
            "expected some ends on the second beam and some on the first, found all of them on it",
        ),
        (
            {"colour": "red"},
            {},
            "expected some ends on the second beam and some on the first, found none on it",
        ),
        ({"order": "1-3"}, {}, "expected beams 1 and 2, found 3"),
        (
            {"order": "1-2"},
            {"method": "front-to-back"},
            "expected a loom dressed from back to front for a second beam, found front-to-back",
        ),
    ],
)
def test_a_second_beam_that_cannot_be(
    second: dict[str, str], loom: dict[str, str], fault: str
) -> None:
    """Each is told with its mend."""
    plan = make_plan(straight(24), reed_width=4, second_beam=second, loom=loom)
    assert [problem.fault for problem in contradictions(plan)] == [fault]
