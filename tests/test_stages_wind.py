"""Winding the warp: counting groups, colours and ends wound together."""

from __future__ import annotations

from itertools import cycle, islice
from typing import TYPE_CHECKING, Any

from hypothesis import given
from job_walker import LENGTHS, job_plans, printed, told, walk
from small_plans import make_plan, straight, untimed
from test_guide_walk import Weaver

from companion.guide import Options
from companion.job import Stage, stage
from companion.loom.compute import compute
from companion.loom.winding import LEAST_COUNTED, counting_groups
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan

QUIET = Options(cautions=False, stage_cautions=False, tell_help=False)
RADDLE = {"sections_per_inch": 2}


def winding(ends: int, **tables: Any) -> Stage:
    """Return the winding of so many ends at 20 for a raddle of 2 sections an inch."""
    return stage(compute(make_plan(straight(ends), **{"raddle": RADDLE, **tables})), "wind")


def test_a_group_is_what_goes_into_a_section() -> None:
    """Ends are counted as they are wound, by raddle groups (peggyosterkamp.com, tips on counting):
    240 ends in sections of 10 are "group 7 of 24, 10 ends"."""
    lines = printed(walk(winding(240), QUIET))
    at = lines.index("Group 7.")
    assert lines[at + 1 : at + 4] == [
        "Wind 10 ends, which makes 70 of 240.",
        "How many?",
        "10, right.",
    ]
    assert lines[-1] == "Winding the warp is complete: 240 ends in 24 groups."


def test_small_sections_are_counted_together() -> None:
    """4 sections an inch at 20 hold 5 ends each, so two of them are one group."""
    walked = winding(48, raddle={"sections_per_inch": 4})
    assert [group.expected for group in walked.groups] == [10, 10, 10, 10, 8]


def test_without_a_raddle_a_group_is_about_an_inch() -> None:
    """At 20 ends an inch 50 ends are groups of 20, 20 and 10."""
    walked = winding(50, raddle=None)
    assert [group.expected for group in walked.groups] == [20, 20, 10]


def test_where_groups_are_single_steps_only_what_is_left_in_all_is_told() -> None:
    """A group is wound in one step, and "1 to go in it" would tell nothing."""
    told_place = Weaver(winding(50, raddle=None)).say("done", "20", "where am i")[0]
    assert told_place.endswith("Group 2 of 3. 2 to go.")


def test_from_the_front_the_raddle_does_not_matter() -> None:
    """The reed spreads the warp, so the groups are of an inch even where there is a raddle."""
    walked = winding(50, loom={"method": "front-to-back"})
    assert [group.expected for group in walked.groups] == [20, 20, 10]


def test_a_new_colour_is_a_new_step() -> None:
    """Six white ends and four blue ones in one group are two steps, and each names its colour."""
    colours = ("white",) * 6 + ("blue",) * 4
    lines = printed(walk(winding(10, drafted={"colours": colours}), QUIET))
    assert lines[1:3] == [
        "White. Wind the first 6 of 10 ends.",
        "Blue. Wind the last 4 of 10 ends.",
    ]


def test_ends_wound_together_are_told_in_rounds() -> None:
    """Two at once, black and white: five rounds of two make ten ends, in one step."""
    colours = ("black", "white") * 10
    walked = winding(20, drafted={"colours": colours}, warp={"wound_together": 2})
    assert told(walked) == [
        "wind 10 ends in 5 rounds of 2, which makes 10 of 20",
        "wind 10 ends in 5 rounds of 2, which makes 20 of 20",
    ]
    assert walked.steps[0].colour == "black and white"
    assert "Wind 2 ends at once, and take them through the cross as one." in opening(walked)


def test_what_is_left_of_a_round_is_wound_by_itself() -> None:
    """25 ends, three at once, are eight rounds and one end alone."""
    walked = winding(25, raddle=None, warp={"wound_together": 3})
    assert told(walked) == [
        "wind 21 ends in 7 rounds of 3, which makes 21 of 25",
        "wind 3 ends together, which makes 24 of 25",
        "wind 1 end alone, which makes 25 of 25",
    ]


def test_several_ends_wound_together_stay_together_in_the_raddle() -> None:
    """16 ends an inch in half-inch sections: wound three at once the sections are of 6 and 9, five
    at once of 5 and 10, instead of 8 (weavingfromparadise.guildford.nz, 21 July 2021)."""
    for together, sizes in ((3, {6, 9}), (5, {5, 10})):
        plan = make_plan(straight(240), sett=16, raddle=RADDLE, warp={"wound_together": together})
        raddle = compute(plan).raddle
        assert raddle is not None
        assert set(raddle.counts) == sizes
        told = f"The {together} ends of a round stay together in one section."
        assert told in opening(stage(compute(plan), "raddle"))


def test_the_length_and_the_floating_selvedges_are_told() -> None:
    """The length of every end in whole units, and the ends that come on top."""
    plan = make_plan(straight(40), selvedges={"floating": 1}, length=LENGTHS)
    dressing = compute(plan)
    assert dressing.yarns is not None
    said = opening(stage(dressing, "wind"))
    assert f"Wind every end {dressing.yarns.wind} inches long." in said
    assert dressing.yarns.wind.denominator == 1
    assert "The 2 floating selvedge ends come on top, and are wound apart." in said


@untimed
@given(job_plans())
def test_every_end_is_wound_once_in_its_colour(plan: Plan) -> None:
    """The runs, strung together, are the ends in order; each is of whole rounds, and no round is
    parted between groups."""
    dressing = compute(plan)
    together, total = dressing.wound_together, len(dressing.ends)
    runs = [run for group in counting_groups(dressing) for run in group]
    assert [end for run in runs for end in range(run.first, run.last + 1)] == [
        end.number for end in dressing.ends
    ]
    for run in runs:
        assert run.ends % run.together == 0
        assert (run.first - 1) % together == 0 or run.last == total
        held = dressing.ends[run.first - 1 : run.last]
        rounds = [held[at : at + run.together] for at in range(0, run.ends, run.together)]
        for members in rounds:
            colours = dict.fromkeys(end.colour for end in members if end.colour)
            assert tuple(colours) == run.colours


@untimed
@given(job_plans())
def test_no_group_but_the_last_is_too_small_to_count(plan: Plan) -> None:
    """Sections are put together until there are enough ends to be worth a tie."""
    dressing = compute(plan)
    sizes = [sum(run.ends for run in group) for group in counting_groups(dressing)]
    assert sum(sizes) == len(dressing.ends)
    assert all(size >= LEAST_COUNTED for size in sizes[:-1])


def test_groups_of_an_inch_in_a_coarse_warp_are_put_together() -> None:
    """Two ends an inch would be a tie for every two ends."""
    colours = tuple(islice(cycle(("white",)), 20))
    plan = make_plan(straight(20), sett=2, dents=2, drafted={"colours": colours})
    sizes = [group.expected for group in stage(compute(plan), "wind").groups]
    assert sizes == [8, 8, 4]
