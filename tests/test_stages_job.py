"""The whole job: which stages there are, in which order, and what holds of every one of them."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from job_walker import job_plans, printed, right_command, walk
from small_plans import make_plan, straight

from companion.command import Command, Kind
from companion.guide import Mode, Options, Say, State, check_fits, events, start, step, welcome_back
from companion.guide import messages as m
from companion.job import Danger, left_out, stage, stages, whole_job
from companion.job.step_builder import in_stretches
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan
from companion.wording.cautions import DANGERS
from companion.wording.openings import opening
from companion.wording.stages import LEFT_OUT

if TYPE_CHECKING:
    from companion.guide import Effects, Message
    from companion.plan.file.reader import Plan

PLANS = sorted((Path(__file__).parent.parent / "plans").glob("*.toml"))
FIRST = 20
"""Steps of a stage after each of which the walk is killed."""
some = settings(deadline=None, max_examples=25)
"""Whole jobs are long walks."""
RADDLE = {"sections_per_inch": 2}
TREADLES = {"treadles": ((1, 3), (2, 4))}


def said_in(effects: Effects) -> list[Message]:
    """Return the messages among effects."""
    return [effect.message for effect in effects if isinstance(effect, Say)]


def test_from_the_back_the_warp_is_beamed_before_it_is_threaded() -> None:
    """Raddle, beam, thread, sley, tie on, tie up: the order of the tutorial at
    tygartlakefiberarts.com/wp/?page_id=83."""
    plan = make_plan(straight(40), raddle=RADDLE, drafted=TREADLES, loom={"passes": "separate"})
    assert whole_job(compute(plan)) == (
        "wind",
        "raddle",
        "beam",
        "heddles",
        "thread",
        "sley",
        "tie-on",
        "tie-up",
        "first-picks",
    )


def test_from_the_front_the_warp_is_sleyed_and_threaded_before_it_is_beamed() -> None:
    """Sley the reed, thread, tie on at the back, beam, tie on at the front: the order of the
    front-to-back course at vermontweavingsupplies.com; the reed spreads, so no raddle is used."""
    loom = {"method": "front-to-back", "passes": "separate"}
    plan = make_plan(straight(40), raddle=RADDLE, drafted=TREADLES, loom=loom)
    assert whole_job(compute(plan)) == (
        "wind",
        "heddles",
        "sley",
        "thread",
        "tie-on-rear",
        "beam",
        "tie-on",
        "tie-up",
        "first-picks",
    )
    assert left_out(compute(plan)) == {}


def test_what_a_plan_cannot_have_is_left_out_with_its_reason() -> None:
    """Without raddle and tie-up both stages go, and the stage that comes instead says why."""
    dressing = compute(make_plan(straight(40)))
    assert whole_job(dressing) == (
        "wind",
        "beam",
        "heddles",
        "thread-and-sley",
        "tie-on",
        "first-picks",
    )
    reasons = left_out(dressing)
    assert opening(stage(dressing, "beam")).startswith(LEFT_OUT[reasons["raddle"]])
    assert opening(stage(dressing, "first-picks")).startswith(LEFT_OUT[reasons["tie-up"]])
    with pytest.raises(ValueError, match="a plan with a raddle"):
        stage(dressing, "raddle")
    with pytest.raises(ValueError, match="a plan with a tie-up"):
        stage(dressing, "tie-up")


def test_a_lift_plan_needs_no_tie_up() -> None:
    """The reason then names the lift plan."""
    plan = make_plan(straight(8), drafted={"lifts": ((1, 3), (2, 4))})
    assert LEFT_OUT[left_out(compute(plan))["tie-up"]] == (
        "The plan has a lift plan and no tie-up, so tying up is left out."
    )


def test_the_passes_of_the_threading_command_are_part_of_the_job() -> None:
    """What `companion thread` walks is what the whole job walks, in the same order."""
    for path in PLANS:
        dressing = compute(read_plan(path))
        job = whole_job(dressing)
        passes = stages(dressing)
        assert tuple(name for name in job if name in passes) == passes


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_every_stage_of_a_demo_plan_is_walked_to_its_end(path: Path) -> None:
    """Each step is called once in order, each group with something to count is counted, and the
    totals come last."""
    dressing = compute(read_plan(path))
    for name in whole_job(dressing):
        walked = stage(dressing, name)
        said = walk(walked)
        called = [message.step for message in said if isinstance(message, m.StepCall)]
        assert called == list(walked.steps)
        counted = sum(bool(group.expected) for group in walked.groups)
        assert counted == sum(isinstance(message, events.Counted) for message in said)
        assert "is complete:" in printed(said)[-1]


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_a_kill_at_any_step_of_any_stage_loses_nothing(path: Path) -> None:
    """After a command the state is restored from its record, fits its stage, greets the weaver
    with her place and goes on to the end: after each of the first, at each question, and after
    every fifth."""
    dressing = compute(read_plan(path))
    for name in whole_job(dressing):
        walked = stage(dressing, name)
        state, _ = start(walked, Options())
        while state.mode is not Mode.FINISHED:
            if state.confirmed < FIRST or state.confirmed % 5 == 0 or state.mode != Mode.WALKING:
                restored = State.from_json(state.to_json())
                check_fits(restored, walked)
                assert restored == state
                assert said_in(welcome_back(restored, walked))
                state = restored
            state = step(state, right_command(state, walked), walked).state
        assert state.confirmed == len(walked.steps)


@some
@given(job_plans())
def test_no_stage_names_a_side_without_its_point_of_view(plan: Plan) -> None:
    """Every sentence that says left or right says from where it is seen; of bouts and heddles the
    opening says it for all."""
    dressing = compute(plan)
    for name in whole_job(dressing):
        for line in printed(walk(stage(dressing, name))):
            for sentence in re.split(r"(?<=\.) ", line):
                is_told = re.match(r"(Next, |Last done, )?([Bb]out |[Ss]haft \d+: )", sentence)
                if re.search(r"\b(left|right) (edge|of|by|end|and)\b", sentence) and not is_told:
                    assert "seen from" in sentence.lower(), sentence


@some
@given(job_plans())
def test_every_stage_ends_for_a_weaver_to_whom_all_goes_well(plan: Plan) -> None:
    """What each step adds comes to what its group expects, and groups hold every step once."""
    dressing = compute(plan)
    for name in whole_job(dressing):
        walked = stage(dressing, name)
        assert [each.number for each in walked.steps] == list(range(1, len(walked.steps) + 1))
        at = 0
        for group in walked.groups:
            members = walked.steps[group.first_step - 1 : group.last_step]
            assert group.first_step == at + 1
            assert {each.group for each in members} == {group.number}
            assert sum(each.amount for each in members) == group.expected
            at = group.last_step
        assert at == len(walked.steps)
        assert walk(walked)


@some
@given(job_plans())
def test_cautions_of_a_stage_are_short_and_can_be_switched_off(plan: Plan) -> None:
    """At most forty words, once, after the welcome."""
    dressing = compute(plan)
    for name in whole_job(dressing):
        walked = stage(dressing, name)
        danger = walked.danger
        assert danger is None or len(DANGERS[danger].split()) <= 40
        said = walk(walked)
        told = [message for message in said if isinstance(message, m.StageCaution)]
        is_told = danger is not None and danger is not Danger.HOOKS  # is one of the usual ones
        assert [message.danger for message in told] == ([danger] if is_told else [])
        again = said_in(start(walked, Options(knows_cautions=True))[1])
        assert [each for each in again if isinstance(each, m.StageCaution)] == (
            [m.StageCaution(danger)] if danger else []
        )
        assert m.Cautions(is_short=True) in again
        silent = said_in(start(walked, Options(stage_cautions=False))[1])
        assert not [message for message in silent if isinstance(message, m.StageCaution)]


def test_where_nothing_is_to_be_counted_a_number_is_refused() -> None:
    """In the beaming a number, and a mistake, have nothing to go by, and nothing changes."""
    walked = stage(compute(make_plan(straight(40))), "beam")
    state, _ = start(walked, Options())
    for command in (Command(Kind.COUNT, 3), Command(Kind.MISTAKE)):
        outcome = step(state, command, walked)
        assert not outcome.is_accepted
        assert outcome.state == state
        lines = printed(said_in(outcome.effects))
        assert lines[0].startswith("There is nothing to count in this group.")


@given(st.integers(0, 10_000), st.integers(1, 5_000), st.integers(1, 60))
def test_stretches_are_as_even_as_can_be(first: int, size: int, most: int) -> None:
    """They follow one another to the end, as few as will do, and differ by one at most."""
    row = range(first, first + size)
    runs = in_stretches(row, most)
    lengths = [len(run) for run in runs]
    assert [each for run in runs for each in run] == list(row)
    assert len(runs) == math.ceil(size / most)
    assert max(lengths) - min(lengths) <= 1
