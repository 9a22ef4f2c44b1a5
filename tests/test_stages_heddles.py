"""Making the heddles ready: how many on each shaft, on which side, and what too few means."""

from __future__ import annotations

from itertools import cycle, islice
from typing import TYPE_CHECKING, Any

from hypothesis import given
from job_walker import job_plans, notes_of, printed, told
from small_plans import make_plan, straight, untimed

from companion.command import Command, Kind
from companion.guide import Mode, Options, Say, start, step
from companion.job import Stage, stage
from companion.loom.compute import compute
from companion.wording.openings import opening

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def heddles_of(threading: tuple[int, ...], **loom: Any) -> Stage:
    """Return the stage for a threading on this loom."""
    return stage(compute(make_plan(threading, loom=loom)), "heddles")


def lines_after(walked: Stage, *commands: Command) -> list[str]:
    """Return what the last of these commands has printed."""
    state, _ = start(walked, Options())
    said: list[Any] = []
    for command in commands:
        outcome = step(state, command, walked)
        state = outcome.state
        said = [effect.message for effect in outcome.effects if isinstance(effect, Say)]
    return printed(said)


def test_four_hundred_ends_on_eight_shafts_take_fifty_heddles_each() -> None:
    """400 ends of a straight draw on 8 shafts that carry 200 heddles: 50 on each ("Notes from the
    Fell: On Heddle Management", Handwoven, November/December 2022)."""
    threading = tuple(islice(cycle(range(1, 9)), 400))
    walked = heddles_of(threading, shafts=8, heddles=(200,) * 8)
    assert told(walked)[0] == "shaft 1: 50 heddles, half on each side"
    assert (
        "Right and left are counted from the centre, seen from the front of the loom."
        in opening(walked)
    )
    assert notes_of(walked)[1] == "150 spare."
    assert [group.expected for group in walked.groups] == [50] * 8


def test_the_sides_follow_the_first_end() -> None:
    """With end 1 at the left edge the first half of a threading hangs on the left."""
    walked = heddles_of((1, 1, 1, 2), first_end="left")
    assert told(walked)[0] == "shaft 1: 3 heddles, 2 left, 1 right"


def test_a_shaft_is_counted_by_itself() -> None:
    """The weaver gives how many stand ready on the shaft, and goes on to the next."""
    walked = heddles_of(straight(40))
    done, ten = Command(Kind.DONE), Command(Kind.COUNT, 10)
    assert lines_after(walked, done) == ["Group 1. How many heddles on this shaft?"]
    assert lines_after(walked, done, ten)[0] == "10, right."


def test_a_shortage_names_the_shafts_that_can_give() -> None:
    """8 instead of 10: the walk is held, and the shafts with most to spare are named."""
    walked = heddles_of(straight(40), heddles=(10, 15, 40, 12))
    lines = lines_after(walked, Command(Kind.DONE), *[Command(Kind.COUNT, 8)] * 2)
    assert lines[0] == (
        "8, but 10 are planned. Most likely heddles are missing here; shaft 3 has 30 to spare. Put "
        "it right, or say mistake for more."
    )


def test_spare_heddles_are_not_to_be_taken_in() -> None:
    """50 counted where 10 are needed: the spare ones were taken in."""
    walked = heddles_of(straight(40), heddles=(50,) * 4)
    state, _ = start(walked, Options())
    for command in (Command(Kind.DONE), Command(Kind.COUNT, 50)):
        state = step(state, command, walked).state
    assert state.mode is Mode.HELD
    lines = lines_after(walked, Command(Kind.DONE), *[Command(Kind.COUNT, 50)] * 2)
    assert "heddles are here that are not needed" in lines[0]


def test_an_idle_shaft_needs_none_and_is_not_counted() -> None:
    """Its heddles are pushed aside, and the walk goes on without a number."""
    walked = heddles_of((1, 2, 1, 2))
    assert told(walked)[2] == "shaft 3: no heddles; push them all to the sides"
    done = Command(Kind.DONE)
    lines = lines_after(walked, done, Command(Kind.COUNT, 2), done, Command(Kind.COUNT, 2), done)
    assert lines[:2] == ["Group 3 is complete.", "Group 4."]


@untimed
@given(job_plans())
def test_heddles_add_up_to_the_threading(plan: Plan) -> None:
    """As many heddles as places, each shaft under its own number, both halves together."""
    walked = stage(compute(plan), "heddles")
    assert sum(group.expected for group in walked.groups) == len(plan.draft.shafts)
    assert len(walked.steps) == plan.file.loom.shafts
    for each in walked.steps:
        assert each.amount == plan.draft.shafts.count(each.number)
        assert told(walked)[each.number - 1].startswith(f"shaft {each.number}: ")
