"""Threading from the centre out, and one colour first, beside figures computed by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner
from front_door import PLANS, run
from hypothesis import given
from hypothesis import strategies as st
from job_walker import named, printed, told, walk
from small_plans import make_plan, straight
from test_guide_walk import QUIET, Weaver

from companion.cli.mend import mend
from companion.cli.picture import picture
from companion.diagnosis.effect import in_cloth
from companion.diagnosis.slips import Diagnosis, Slip, SlipKind, applied
from companion.guide import Options
from companion.job import Stage, StageName, stage
from companion.job.plan_diff import steps_alike
from companion.loom.check import contradictions
from companion.loom.compute import compute, read_and_compute
from companion.loom.threading_order import as_threaded, numbers_as_threaded
from companion.out.board.view import view_of
from companion.out.paper.sheets import sheets
from companion.out.report import report
from companion.wording.openings import begun, opening
from companion.wording.ways import before_steps

if TYPE_CHECKING:
    from pathlib import Path

CENTRE = {"thread_from": "centre"}
STRIPES = ("white",) * 5 + ("blue",) * 3 + ("white",) * 4
BLUE = {"thread_first": "blue", "passes": "separate"}
TWILL: dict[str, Any] = {
    "treadles": ((1, 2), (2, 3), (3, 4), (1, 4)),
    "picks": ((1,), (2,), (3,), (4,)),
}


def stage_of(name: StageName, ends: int = 12, **tables: Any) -> Stage:
    """Return a pass over a straight draw at 20 ends in a 10-dent reed, 400 dents wide."""
    return stage(compute(make_plan(straight(ends), **tables)), name)


def test_from_the_centre_the_halves_are_threaded_outward() -> None:
    """12 ends in dents 1 to 6 part after the sixth: to the left shafts 3 4 1 2 3 4 in dents 4 to 6,
    then to the right 2 1 4 3 2 1 in dents 3 to 1. 394 empty dents leave 197 before dent 1, so dent
    4 is dent 201 of 400 from the right: the first one left of the middle."""
    walked = stage_of("thread-and-sley", loom=CENTRE, selvedges={"floating": 1})
    assert told(walked)[:2] == ["end 1: shaft 3, dent 5", "end 2: shaft 4, dent 5"]
    assert [step.shafts for step in walked.steps if step.shafts] == [
        (3,), (4,), (1,), (2,), (3,), (4,), (2,), (1,), (4,), (3,), (2,), (1,),
    ]  # fmt: skip
    assert [step.dents[0] for step in walked.steps] == [5, 5, 6, 6, 7, 7, 8, 4, 4, 3, 3, 2, 2, 1]
    assert [step.number for step in walked.steps if step.is_floating] == [7, 14]
    assert [step.number for step in walked.steps if step.is_back] == [8]
    assert [group.expected for group in walked.groups] == [6, 6]
    assert opening(walked) == (
        "Start at the centre, out to the left edge first, seen from the front of the loom. "
        "End 1 goes into dent 5. That is dent 1 left of the centre, seen from the "
        "front of the loom. "
        "A floating selvedge comes last at each edge: one to a dent, and in no heddle. "
        "Ends are numbered as you thread them. "
        "Shaft 1 is the front shaft, nearest the breast beam."
    )
    assert begun(walked, "brief") == (
        "Threading, left first, from dent 1 left of the centre, shaft 1 in front."
    )


def test_behind_the_loom_the_first_half_is_on_the_other_side() -> None:
    """The left edge, seen from the front, is on the right of who sits behind the loom."""
    walked = stage_of("thread", loom={**CENTRE, "method": "front-to-back", "passes": "separate"})
    assert "seen from the front of the loom: behind the loom, first to your right." in opening(
        walked
    )
    heard = printed(walk(walked, Options(opening="first")))
    back = "Back to the centre, and out to the right edge, seen from the front, on your left."
    assert any(line.startswith(back) for line in heard)


@pytest.mark.parametrize(
    ("ends", "tables", "first"),
    [
        (9, {}, 5),  # 4 and 5 are as near; in the reed 4 parts no dent
        (9, {"loom": {"passes": "separate"}}, 5),
        (6, {"sett": 30}, 4),  # 3 in a dent, 2 dents
        (3, {"sett": 30}, 0),  # all in one dent: nothing to part, so from the edge
        (6, {"selvedges": {"doubled": 3}}, 7),  # 12 ends in 6 heddles
    ],
)
def test_the_halves_part_no_heddle_and_no_dent(
    ends: int, tables: dict[str, Any], first: int
) -> None:
    """The first end of the first half, by its number from the edge; 0 where there are no halves."""
    dressing = compute(
        make_plan(straight(ends), **{**tables, "loom": {**CENTRE, **tables.get("loom", {})}})
    )
    walked = stage(dressing, "thread" if dressing.passes == "separate" else "thread-and-sley")
    back = next((step.first_end for step in walked.steps if step.is_back), 0)
    assert (len(dressing.ends) - back + 2 if back else 0) == first


def test_empty_dents_are_left_on_both_ways() -> None:
    """At 5 ends in 10 dents every other dent is empty: 1, 3, 5 and 7 hold ends, and the way back
    begins one empty dent beside the first end."""
    walked = stage_of("thread-and-sley", 4, sett=5, loom=CENTRE)
    assert [(step.dents[0], step.empty_dents) for step in walked.steps] == [
        (5, 0), (7, 1), (3, 1), (1, 1),
    ]  # fmt: skip


def test_one_colour_is_threaded_first_and_leaves_heddles_for_the_others() -> None:
    """Shafts 1 2 3 4 1 white, 2 3 4 blue, 1 2 3 4 white: one heddle stays free before each blue
    end, none on shaft 1; then the 9 white ends take the next free ones."""
    walked = stage_of("thread", loom=BLUE, drafted={"colours": STRIPES})
    assert [step.shafts[0] for step in walked.steps] == [2, 3, 4, 1, 2, 3, 4, 1, 1, 2, 3, 4]
    assert [step.heddles_left for step in walked.steps if step.heddles_left] == [
        1, 1, 1
    ]  # fmt: skip
    assert named(walked) == ["", ""]
    assert "from the right, all blue ends first, shaft 1" in begun(walked, "brief")
    assert [group.expected for group in walked.groups] == [3, 9]
    heard = printed(walk(walked, Options(opening="first")))
    assert "Leave 1 heddle free. Blue. End 1: shaft 2." in " ".join(heard)
    assert (
        "Back to the right edge, seen from the front. Each end now takes the next free heddle on "
        "its shaft." in " ".join(heard)
    )
    assert not walked.is_from_cross
    (sheet,) = (
        each
        for each in sheets(
            compute(make_plan(straight(12), loom=BLUE, drafted={"colours": STRIPES}))
        )
        if each.name == "threading"
    )
    first = "Leave 1 heddle free on each of shafts 2, 3 and 4."
    assert sheet.lines[0].pieces[0] == first
    assert sheet.lines[1].pieces[0].startswith("Back to the right edge")


def test_as_many_heddles_on_each_shaft_are_told_in_one() -> None:
    """4 white, one on each shaft, before every 4 blue ends."""
    colours = (*("white",) * 4, *("blue",) * 4) * 2
    walked = stage_of("thread", 16, loom=BLUE, drafted={"colours": colours})
    told = list(before_steps(walked.steps[:4], walked.dressing))
    assert told == ["Leave 1 heddle free on each shaft."]


def test_on_many_shafts_those_with_as_many_heddles_are_told_together() -> None:
    """12 shafts are too many to count along by ear: 2 heddles on the first 5, 1 on the others."""
    draw = (*range(1, 13), 1, 2, 3, 4, 5)
    draw += (*range(1, 13),)
    colours = ("white",) * 17 + ("blue",) * 12
    plan = make_plan(draw, loom={**BLUE, "shafts": 12}, drafted={"colours": colours})
    steps = stage(compute(plan), "thread").steps[:12]
    assert list(before_steps(steps, compute(plan))) == [
        "Leave 2 heddles free on each of shafts 1, 2, 3, 4 and 5; 1 on each of shafts 6 to 12."
    ]


def test_the_report_says_where_threading_begins() -> None:
    """And its groups are those of the walk."""
    lines = list(report(compute(make_plan(straight(12), loom=CENTRE))))
    assert (
        "Threaded from the centre: out to the left edge, then from the centre to the right."
        in lines
    )
    assert "Ends are counted in 2 groups of 6 ends." in lines
    blue = make_plan(straight(12), loom=BLUE, drafted={"colours": STRIPES})
    assert "Threaded first: all blue ends; then the others." in list(report(compute(blue)))


@pytest.mark.parametrize(
    ("loom", "tables", "fault"),
    [
        ({"thread_first": "blue"}, {}, "expected the reed as a pass of its own"),
        (
            {**BLUE, "thread_first": "red"},
            {},
            'expected one colour of several in the warp, found "red"',
        ),
        (BLUE, {"old_warp": {"ends": 12}}, "expected a warp to thread, and this one is knotted"),
        (
            CENTRE,
            {"reed": {"dents_per_inch": 10, "width": 40, "parts": [{"ends": 12}]}},
            "expected the reed as a pass of its own, since its regions are told from the edge",
        ),
    ],
)
def test_orders_that_cannot_be(loom: dict[str, Any], tables: dict[str, Any], fault: str) -> None:
    """Each is told with its mend."""
    plan = make_plan(straight(12), loom=loom, drafted={"colours": STRIPES}, **tables)
    (problem,) = contradictions(plan)
    assert problem.fault.startswith(fault)
    assert problem.mend


def test_a_slip_in_the_second_half_is_found_and_mended_by_the_numbers_of_the_walk() -> None:
    """To the right the shafts are 2 1 4 3 2 1; with the first two crossed it is ends 7 and 8, and
    in the cloth 4 crossings a pass change, two in each: computed from the twill."""
    walked = stage_of("thread-and-sley", loom=CENTRE, drafted=TWILL)
    weaver = Weaver(walked, QUIET)
    weaver.say(*["done"] * 6, "6", *["done"] * 6, "mistake")
    heard = weaver.say("1 2 4 3 2 1")
    assert heard[1].startswith("Most likely ends 7 and 8 are crossed.")
    offered = weaver.say("mend", "repeat")[-1]
    assert offered.startswith("Ends 7 and 8 are crossed. If it stays,")
    assert "2 ends weave off the plan, in 4 crossings." in offered


def test_an_end_left_out_where_a_half_begins_is_found_there() -> None:
    """End 7 has no end before it on that side of the centre."""
    walked = stage_of("thread", loom={**CENTRE, "passes": "separate"})
    weaver = Weaver(walked, QUIET)
    weaver.say(*["done"] * 6, "6", *["done"] * 6, "5", "5", "1 4 3 2 1", "mend")
    assert weaver.say("yes")[-1] == "Find end 7, left out where you began."


def test_a_slip_in_one_colour_first_is_told_by_what_it_does_to_the_cloth() -> None:
    """The blue ends are ends 5 to 8 of the cloth, on shafts 1 2 3 4; with the first two crossed
    two ends change in two lifts of the twill each: computed by hand."""
    colours = ("white",) * 4 + ("blue",) * 4 + ("white",) * 4
    weaver = Weaver(stage_of("thread", loom=BLUE, drafted={"colours": colours, **TWILL}), QUIET)
    weaver.say(*["done"] * 4, "2 1 3 4")
    assert "off the plan, in 4 crossings" in weaver.say("mend", "repeat")[-1]


@given(st.data())
def test_slips_lie_in_the_cloth_where_their_ends_lie(data: st.DataObject) -> None:
    """However the ends are threaded, and each left out or on another shaft: beside the plainest
    means, which threads (end, shaft) in order and then sorts by end."""
    order = data.draw(st.sampled_from([CENTRE, BLUE]))
    threaded = as_threaded(
        compute(make_plan(straight(12), loom=order, drafted={"colours": STRIPES}))
    )
    assert threaded.whole is not None
    numbers = numbers_as_threaded(threaded.whole)
    first = data.draw(st.integers(1, 12))
    last = data.draw(st.integers(first, 12))
    shafts = [end.shaft for end in threaded.ends]
    found = data.draw(st.sampled_from([(), *(tuple([n] * (last - first + 1)) for n in (1, 4))]))
    slip = Slip(SlipKind.WRONG_SHAFT, first, last, tuple(shafts[first - 1 : last]), found)
    laid = in_cloth(Diagnosis((slip,)), threaded)
    cloth = tuple(end.shaft for end in threaded.whole.ends)
    shafts[first - 1 : last] = found or [0] * (last + 1 - first)
    wanted = [shaft for _, shaft in sorted(zip(numbers, shafts, strict=True)) if shaft]
    assert list(applied(cloth, laid.slips)) == wanted


def test_what_is_extra_lies_beside_its_neighbour_in_the_cloth() -> None:
    """12 ends from the centre: ends 7 to 12 of the cloth, then 6 to 1. What is threaded before
    the eighth, end 5 of the cloth, lies between ends 5 and 6; what comes last, outside end 1."""
    threaded = as_threaded(compute(make_plan(straight(12), loom=CENTRE)))
    cloth = straight(12)
    for before, place in ((2, 7), (8, 5), (13, 0)):
        slip = Slip(SlipKind.UNIT_ADDED, before, before - 1, (), (3, 1))
        extra = (3, 1) if before == 2 else (1, 3)
        laid = in_cloth(Diagnosis((slip,)), threaded)
        assert applied(cloth, laid.slips) == (*cloth[:place], *extra, *cloth[place:])


@pytest.mark.parametrize("plan", ["centred-shawl", "indigo-first"])
def test_a_slip_is_drawn_where_it_lies_in_the_cloth(tmp_path: Path, plan: str) -> None:
    """The picture counts from edge to edge, and says that the slip is counted as threaded."""
    path = tmp_path / "slip.svg"
    walked = stage(read_and_compute(PLANS / f"{plan}.toml")[1], "thread")
    group = walked.groups[1]
    planned = [shaft for step in walked.steps_of(group) for shaft in step.shafts]
    swapped = " ".join(map(str, [planned[1], planned[0], *planned[2:]]))
    result = CliRunner().invoke(
        mend,
        [str(PLANS / f"{plan}.toml"), "--group", "2", "--felt", swapped, "--picture", str(path)],
        catch_exceptions=False,
    )
    assert result.exit_code == 0, result.output
    told_ = path.with_suffix(".txt").read_text(encoding="utf-8")
    assert "are crossed" in told_
    assert "counted as they are threaded" in told_


def test_a_mistake_at_the_far_floating_selvedge_offers_the_end_beside_it() -> None:
    """It has no number of its own; the first one is at the other edge."""
    weaver = Weaver(stage_of("thread-and-sley", 4, selvedges={"floating": 1}), QUIET)
    weaver.say(*["done"] * 6)
    weaver.say("read back", *["done"] * 5)
    assert weaver.say("mistake")[-1].startswith("Go back to end 4? That takes back 2 steps.")


def test_the_place_in_the_walk_is_marked_where_it_lies_in_the_cloth(tmp_path: Path) -> None:
    """Of the shawl's 107 ends 53 are threaded from the centre to the far edge, then 54 to end 1:
    the first of the walk is end 55 of the cloth, and its last one is end 1."""
    for walked, lies in ((1, 55), (107, 1)):
        path = tmp_path / f"{walked}.svg"
        asked = [str(PLANS / "centred-shawl.toml"), "--to", str(path), "--at", str(walked)]
        result = CliRunner().invoke(picture, asked, catch_exceptions=False)
        assert result.exit_code == 0, result.output
        told_ = path.with_suffix(".txt").read_text(encoding="utf-8")
        assert f"The place in the walk is marked: end {lies}," in told_


def test_the_board_draws_each_half_to_its_side() -> None:
    """The lowest number is at the right on the way to the left edge, then at the left."""
    walked = stage_of("thread-and-sley", loom=CENTRE)
    weaver = Weaver(walked, QUIET)
    strip = view_of(weaver.state, walked, "en").strip
    assert strip is not None
    assert (strip["edge"], [end[0] for end in strip["ends"]]) == ("right", [1, 2, 3, 4, 5, 6])
    weaver.say(*["done"] * 6, "6")
    view = view_of(weaver.state, walked, "en")
    assert view.strip is not None
    assert (view.strip["edge"], view.strip["ends"][0][0]) == ("left", 7)
    assert "Back to the centre, and out to the right edge, seen from the front." in view.detail


def test_another_order_is_another_work_and_another_name_of_a_colour_is_not() -> None:
    """The place is kept only where the hands do the same."""
    from_edge, central = stage_of("thread"), stage_of("thread", loom=CENTRE)
    assert steps_alike(from_edge, central) == 0
    blue = stage_of("thread", loom=BLUE, drafted={"colours": STRIPES})
    navy = ("white",) * 5 + ("navy",) * 3 + ("white",) * 4
    renamed = stage_of("thread", loom={**BLUE, "thread_first": "navy"}, drafted={"colours": navy})
    assert steps_alike(blue, renamed) == 12


def test_there_is_no_wrong_edge_in_the_centre() -> None:
    """The other way round would be another order of the halves, which the plan's edge decides."""
    weaver = Weaver(stage_of("thread-and-sley", loom=CENTRE), QUIET)
    weaver.say("done")
    assert weaver.say("wrong edge")[-1].startswith("This stage does not begin at an edge.")


def test_a_group_is_mended_at_the_desk_by_the_numbers_of_the_walk(tmp_path: Path) -> None:
    """Group 4 of the shawl begins the way to the right edge with end 54."""
    told_ = run(tmp_path, "mend", PLANS / "centred-shawl.toml", "--group", "4", "--counted", "9")
    assert told_.stdout.startswith("Group 4, ends 54 to 63.\n")


def test_the_reed_is_no_part_of_the_step_where_ends_are_no_neighbours(tmp_path: Path) -> None:
    """As in a plan, so by an option; nothing is begun."""
    refused = run(tmp_path, "thread", PLANS / "indigo-first.toml", "--together", "--text")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr == (
        "Expected --separate with this plan, since ends of one colour are no neighbours in the"
        " dents.\n"
    )
    assert run(tmp_path, "sessions").stdout.startswith("No sessions")
