"""Spreading in the raddle: every section in order, and a wrong count that only warns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import given
from job_walker import notes_of, printed, right_command, told, walk
from small_plans import make_plan, plans, straight, untimed

from companion.command import Command, Kind
from companion.guide import Mode, Options, Overridden, Say, State, start, step
from companion.job import LeftOut, Stage, left_out, stage, whole_job
from companion.loom.compute import compute
from companion.wording import Style, render
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def raddle_of(ends: int, **tables: Any) -> Stage:
    """Return the spreading of so many ends at 20 in a raddle of 2 sections an inch."""
    tables = {"raddle": {"sections_per_inch": 2, "width": 36}, **tables}
    return stage(compute(make_plan(straight(ends), **tables)), "raddle")


def said(state: State, stage: Stage, *commands: Command) -> tuple[State, list[str]]:
    """Return the state after these commands, and what the last of them had printed."""
    lines: list[str] = []
    for command in commands:
        outcome = step(state, command, stage)
        state = outcome.state
        lines = [
            render(effect.message, Style()).text
            for effect in outcome.effects
            if isinstance(effect, Say)
        ]
    return state, lines


def test_section_by_section_with_centre_and_edges() -> None:
    """480 ends at 20 in 2 sections an inch: 48 sections of 10, 12 empty on each side of 72
    (computed by hand)."""
    lines = printed(walk(raddle_of(480)))
    assert "Section 13: 10 ends." in lines
    assert (
        "Section 24: 10 ends. This makes half of the 48 sections: the centre of the warp comes "
        "right after it."
    ) in lines
    assert "Section 48: 10 ends. This makes all 48 sections: 12 stay empty on each side." in lines
    assert lines[-1] == "Spreading in the raddle is complete: 48 sections in 4 groups."


def test_fractional_sections_alternate() -> None:
    """15 ends an inch in half-inch sections are 7, 8, 7, 8, 30 sections for 225 ends (computed by
    hand), and odd sections part loops."""
    walked = raddle_of(225, warp={"ends_per_inch": 15})
    assert told(walked)[:4] == [
        "section 1: 7 ends",
        "section 2: 8 ends",
        "section 3: 7 ends",
        "section 4: 8 ends",
    ]
    assert len(walked.steps) == 30
    assert "the loop stays whole on its rod" in opening(walked)
    assert "one of them is without a loop" in opening(walked)


def test_even_sections_part_no_loop() -> None:
    """Where every section and the total are even nothing is said of loops."""
    assert "loop" not in opening(raddle_of(480))


def test_it_starts_in_the_right_section_seen_from_both_sides() -> None:
    """72 sections hold 48: the first one is the 13th, on the right in front and left behind."""
    opening_said = opening(raddle_of(480))
    assert "Section 1 is section 13 of the raddle, counted from its right end" in opening_said
    assert "Seen from behind the loom, at the warp beam, that is the left edge" in opening_said


def test_a_raddle_of_unknown_width_is_begun_from_its_centre() -> None:
    """48 sections of 20 ends an inch lie 24 on each side of the centre."""
    walked = raddle_of(480, raddle={"sections_per_inch": 2})
    assert "Begin 24 sections before the centre of the raddle" in opening(walked)
    assert notes_of(walked)[48] == "This makes all 48 sections."
    hardly_21 = raddle_of(202, raddle={"sections_per_inch": 2})
    assert "Begin 10 sections before the centre of the raddle" in opening(hardly_21)


def test_a_wrong_count_warns_and_goes_on() -> None:
    """Common practice, no source: the raddle only spreads, so an error of a few ends may stand. It
    is told, with its likely cause, and is on record."""
    walked = raddle_of(480)
    state, _ = start(walked, Options())
    state, lines = said(state, walked, *[Command(Kind.DONE)] * 12, Command(Kind.COUNT, 11))
    assert lines[0] == (
        "11, but 12 are planned. Most likely the ends of two sections are in one. That may stand."
    )
    assert lines[1:] == ["Group 2.", "Section 13: 10 ends."]
    assert state.overrides == (Overridden(1, 12, 11, 12),)
    assert said(state, walked, Command(Kind.UNDO))[0].mode is Mode.COUNTING
    while state.checked < 3 or state.mode is Mode.WALKING:
        state, lines = said(state, walked, right_command(state, walked))
    assert said(state, walked, Command(Kind.COUNT, 11))[1] == [
        "11, but 12 are planned. Most likely the ends of two sections are in one. That may stand.",
        (
            "Spreading in the raddle is complete: 48 sections in 4 groups. Not as planned: groups "
            "1 and 4."
        ),
    ]


def test_a_wrong_count_within_a_group_warns_too() -> None:
    """Asked for in the middle of a group, the count may be wrong and the walk goes on."""
    walked = raddle_of(480)
    state, _ = start(walked, Options())
    state, lines = said(state, walked, Command(Kind.DONE), Command(Kind.COUNT, 2))
    assert lines[0].startswith("2 so far, but 1 is planned. Most likely the ends of one")
    assert lines[1] == "Section 2: 10 ends."
    assert (state.mode, state.overrides) == (Mode.WALKING, ())


def test_sections_are_called_by_their_own_number() -> None:
    """To go to 7 is to go to section 7, not to the section that holds end 7."""
    walked = raddle_of(480)
    state, _ = start(walked, Options())
    state, _ = said(state, walked, *[Command(Kind.DONE)] * 9)
    after, lines = said(state, walked, Command(Kind.REWIND, 7))
    assert lines == ["Back 3 steps.", "Section 7: 10 ends."]
    assert after.confirmed == 6
    _, lines = said(state, walked, Command(Kind.READ_BACK, 8, is_end=True))
    assert lines == ["Reading from section 8.", "Section 8: 10 ends."]
    _, lines = said(state, walked, Command(Kind.REWIND, 49))
    assert lines[0].startswith("Section 49 is not in this plan; the last is section 48.")


def test_a_walk_that_was_killed_goes_on_from_its_json() -> None:
    """From any place in the stage, the state restored from its record ends the walk as the state
    itself does."""
    walked = raddle_of(480)
    state, _ = start(walked, Options())
    while state.mode is not Mode.FINISHED:
        restored = State.from_json(state.to_json())
        assert restored == state
        state = step(restored, right_command(restored, walked), walked).state
    assert state.checked == len(walked.groups)


def test_shafts_are_not_named_in_the_raddle() -> None:
    """A row of digits is the count, digit by digit, since no shafts can be felt here."""
    walked = raddle_of(480)
    state, _ = start(walked, Options())
    row = Command(Kind.COUNT, 12, numbers=(1, 2))
    _, lines = said(state, walked, *[Command(Kind.DONE)] * 12, row)
    assert lines[0] == "12, right."


def test_without_a_raddle_the_reason_is_told() -> None:
    """A plan without one leaves the stage out and says so."""
    bare = compute(make_plan(straight(40)))
    assert "raddle" not in whole_job(bare)
    assert left_out(bare)["raddle"] is LeftOut.NO_RADDLE
    assert opening(stage(bare, "beam")).startswith(
        "The plan has no raddle, so spreading is left out."
    )


@untimed
@given(plans())
def test_sections_hold_every_end_once_in_order(plan: Plan) -> None:
    """The sections, strung together, are the ends of the warp, and the counts are of sections."""
    dressing = compute(plan)
    assert dressing.raddle is not None
    walked = stage(dressing, "raddle")
    spans = [(step.first_end, step.last_end) for step in walked.steps if step.first_end]
    ends = [end for first, last in spans for end in range(first, last + 1)]
    assert ends == [end.number for end in dressing.ends]
    for number, count in enumerate(dressing.raddle.counts, start=1):
        held = f"{count} end{'s'[: count > 1]}" if count else "leave it empty"
        assert told(walked)[number - 1] == f"section {number}: {held}"
    used = sum(1 for count in dressing.raddle.counts if count)
    assert sum(group.expected for group in walked.groups) == used


@untimed
@given(plans())
def test_the_centre_is_a_boundary(plan: Plan) -> None:
    """Half of the sections, or the middle one of an odd number, end a group."""
    walked = stage(compute(plan), "raddle")
    middle = (len(walked.steps) + 1) // 2
    assert middle in {group.last_step for group in walked.groups}
