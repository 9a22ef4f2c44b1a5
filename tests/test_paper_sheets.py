"""The sheets say the plan and nothing else: every end, dent, section, tie and pick, in order."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_plans import (
    NAMES,
    bracketed,
    demo,
    dents_of,
    doubled_of,
    numbers,
    shafts_of,
    sheet_of,
)
from small_plans import make_plan, plans, straight

from companion.loom.compute import compute
from companion.loom.threading_order import as_threaded
from companion.out.paper.repeats import LONGEST_RUN, repeat_of, runs_of
from companion.out.paper.sheet import pieces
from companion.out.paper.sheets import sheets
from companion.out.paper.warp_sheets import sleying_sheet, threading_sheet

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing
    from companion.plan.file.reader import Plan


def sley_counts(dressing: Dressing) -> list[int]:
    """Read the sleying sheet back; a floating selvedge is one end in its dent."""
    text = "  ".join(piece for line in sleying_sheet(dressing).lines for piece in line.pieces)
    return numbers(text.replace("floating selvedge", "1"))


@given(plans())
def test_threading_holds_every_end_in_order(plan: Plan) -> None:
    """Whatever the plan, the numbers of the threading sheet are the shafts of its ends."""
    dressing = as_threaded(compute(plan))
    lines = threading_sheet(compute(plan)).lines
    text = "  ".join(piece for line in lines for piece in line.pieces)
    assert numbers(text) == shafts_of(dressing)
    assert bracketed(text) == doubled_of(dressing)


@given(plans())
def test_sleying_holds_every_dent_in_order(plan: Plan) -> None:
    """Whatever the plan, the numbers of the sleying sheet are the ends of its dents."""
    dressing = compute(plan)
    assert sley_counts(dressing) == dents_of(dressing)


@given(plans())
def test_spans_follow_each_other(plan: Plan) -> None:
    """The lines of the threading cover ends 1 to the last, a group each, without gaps."""
    dressing = as_threaded(compute(plan))
    lines = threading_sheet(compute(plan)).lines
    spans = [numbers(line.span) for line in lines]
    assert [line.number for line in lines] == [group.number for group in dressing.groups]
    assert [(span[0], span[-1]) for span in spans] == [
        (group.first, group.last) for group in dressing.groups
    ]


@pytest.mark.parametrize("name", NAMES)
def test_raddle_heddles_and_ties_are_the_plans(name: str) -> None:
    """Sections, heddles a shaft, and ties of each treadle are those computed."""
    dressing = demo(name)
    found = {sheet.name: sheet for sheet in sheets(dressing)}
    if dressing.raddle is not None:
        told = [number for line in found["raddle"].lines for number in numbers_of_ends(line.pieces)]
        assert told == list(dressing.raddle.counts)
    assert [
        numbers(" ".join(line.pieces).replace(":", ""))[:3] for line in found["heddles"].lines
    ] == [[shaft.needed, shaft.before_centre, shaft.after_centre] for shaft in dressing.heddles]
    ties = (
        [
            tuple(n for piece in line.pieces if "down" not in piece for n in numbers(piece))
            for line in found["tie-up"].lines
        ]
        if "tie-up" in found
        else []
    )
    assert ties == list(dressing.draft.treadles)


def numbers_of_ends(content: tuple[str, ...]) -> list[int]:
    """Return the sections' ends, without the running total in brackets."""
    return [number for piece in content if "ends" not in piece for number in numbers(piece)]


@pytest.mark.parametrize("name", [name for name in NAMES if demo(name).draft.picks])
def test_treadling_comes_to_every_pick(name: str) -> None:
    """Runs times their numbers, times the whole, are the picks of the plan."""
    draft = demo(name).draft
    sheet = sheet_of(sheets(demo(name)), "treadling")
    picks: list[tuple[int, ...]] = []
    for line in sheet.lines:
        often = [int(piece.split()[0]) for piece in line.pieces if piece.endswith("times")]
        words = " ".join(piece for piece in line.pieces if not piece.endswith("times")).split()
        picks += [tuple(map(int, word.split("+"))) for word in words] * (often or [1])[0]
    assert picks * (len(draft.picks) // len(picks)) == list(draft.picks)


def test_runs_stand_where_a_treadling_repeats() -> None:
    """A hem, a pattern and a hem are three lines, not fifty-one."""
    sheet = sheet_of(sheets(demo("striped-towels")), "treadling")
    assert [(line.span, line.pieces) for line in sheet.lines] == [
        ("1 to 24", ("5 6", "12 times")),
        ("25 to 360", ("1 2 3 4 3 2", "56 times")),
        ("361 to 384", ("5 6", "12 times")),
    ]


@given(st.lists(st.tuples(st.integers(1, 3)), min_size=1, max_size=80), st.integers(1, 4))
def test_runs_give_the_picks_back(picks: list[tuple[int, ...]], times: int) -> None:
    """Written out, the runs are the picks; the whole's repeat gives it whole."""
    whole = tuple(picks) * times
    runs = list(runs_of(whole))
    assert [pick for run in runs for pick in run.picks * run.times] == list(whole)
    assert all(len(run.picks) <= LONGEST_RUN for run in runs)
    repeat = repeat_of(whole)
    assert repeat * (len(whole) // len(repeat)) == whole
    assert len(repeat) <= len(picks)


def test_a_short_run_before_a_long_stretch_without_one_is_still_told() -> None:
    """A hem of 24 picks on two treadles is one line, whatever is woven after it (by hand)."""
    hem = ((1,), (2,)) * 12
    others = tuple((treadle,) for treadle in range(3, 60))
    assert next(iter(runs_of(hem + others))) == (((1,), (2,)), 12)


def test_a_line_of_empty_sections_holds_no_ends() -> None:
    """Of the second beam of the demo the last two sections are empty (by hand from the plan)."""
    lines = sheet_of(sheets(demo("puckered-cloth")), "raddle for the second warp").lines
    assert [line.pieces[-1] for line in lines[-2:]] == ["(ends 41 to 64)", "(no ends)"]


def test_a_raddle_of_unknown_width_is_begun_from_its_centre() -> None:
    """As the walk says it: 480 ends at 20 to the inch are 24 sections on either side."""
    plan = make_plan(straight(480), raddle={"sections_per_inch": 2})
    intro = sheet_of(sheets(compute(plan)), "raddle").intro
    assert "It begins 24 sections before the centre of the raddle." in intro


def test_each_yarn_ends_where_the_next_begins() -> None:
    """On a line that is turned over the gap between two is not seen."""
    lines = sheet_of(sheets(demo("striped-towels")), "warp").lines
    (told,) = (line.pieces for line in lines if line.name == "Yarn")
    assert [piece[-1] for piece in told] == [*";" * (len(told) - 1), told[-1][-1]]
    assert ", buy 2 of " in told[0]


def test_front_to_back_puts_the_reed_first() -> None:
    """The sheets come in the order of the work."""
    first = ["before you begin", "warp", "winding"]
    names = [sheet.name for sheet in sheets(demo("herringbone-scarf"))]
    assert names[:5] == [*first, "sleying", "heddles"]
    names = [sheet.name for sheet in sheets(demo("first-try"))]
    assert names == [*first, "raddle", "heddles", "threading", "sleying", "tie-up", "treadling"]


def test_a_lift_plan_has_its_own_sheet() -> None:
    """A draft that lifts shafts has no tie-up, and its picks are shafts."""
    plan = make_plan(straight(8), drafted={"lifts": ((1, 2), (), (3,))})
    found = {sheet.name: sheet for sheet in sheets(compute(plan))}
    assert "tie-up" not in found
    assert found["lift plan"].lines[0].pieces == ("1+2 0 3",)


def test_colours_are_named_where_they_begin() -> None:
    """A line names its first colour, and each one after it."""
    lines = threading_sheet(demo("lattice-scarf")).lines
    assert lines[0].pieces[:4] == ("dark blue:", "1 2 3", "cream:", "4 3 4 5")
    assert lines[1].pieces[0] == "cream:"


def test_what_changes_at_every_end_is_named_once_on_a_line() -> None:
    """As in a double cloth; where a colour comes twice in a row it is named as ever."""
    colours = (*("white", "grey") * 4, "white", "white", "grey", "grey")
    plan = make_plan(
        straight(12), second_beam={"order": "1-2"}, groups={"by": "ends"},
        drafted={"colours": colours, "units": ()},
    )  # fmt: skip
    (line,) = threading_sheet(compute(plan)).lines
    assert line.pieces == (
        *("beams 1 and 2 by turns:", "white and grey by turns:", "1 2 3 4", "1 2 3 4", "1"),
        *("beam 2:", "white:", "2", "beam 1:", "grey:", "3", "beam 2:", "4"),
    )


def test_a_plain_plan_names_no_colours() -> None:
    """Where all is of one colour, or none, the sheets do not repeat it."""
    dressing = demo("first-try")
    white = replace(dressing, ends=tuple(end._replace(colour="white") for end in dressing.ends))
    assert threading_sheet(white).lines == threading_sheet(dressing).lines


def test_long_runs_come_in_fours() -> None:
    """Up to six numbers stay together; more are parted, so that the eye can count them."""
    assert pieces([1, 2, 3, 4, 3, 2]) == ("1 2 3 4 3 2",)
    assert pieces(range(1, 8)) == ("1 2 3 4", "5 6 7")
