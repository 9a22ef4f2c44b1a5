"""What the board shows is what the guide says, at every step of real plans; and its feed."""

from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS
from hypothesis import given
from hypothesis import strategies as st

from companion import guide
from companion.command import Command, Kind, parse
from companion.guide.effects import Say
from companion.guide.messages import Mode, StepCall
from companion.guide.place import expected_so_far
from companion.guide.state import Options
from companion.job import stage, stages
from companion.loom.compute import read_and_compute
from companion.out.board.feed import KEPT, LINES_SHOWN, Feed
from companion.out.board.view import View, view_of
from companion.wording import Style, render
from companion.wording.notes import step_note
from companion.wording.steps import describe

if TYPE_CHECKING:
    from pathlib import Path

    from companion.guide.state import State
    from companion.job import Stage, Step


def walked(given_stage: Stage, *commands: str) -> View:
    state, _ = guide.start(given_stage, Options())
    for command in commands:
        state = guide.step(state, parse(command), given_stage).state
    return view_of(state, given_stage, "en")


FIRST_TRY = stage(read_and_compute(PLANS / "first-try.toml")[1], "thread-and-sley")


def planned(state: State, walk: Stage) -> Command:
    """Return what takes the walk on when all goes as planned."""
    if state.mode is Mode.COUNTING:
        return Command(Kind.COUNT, expected_so_far(state, walk))
    return Command(Kind.DONE)


@pytest.mark.parametrize("path", sorted(PLANS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_step_is_shown_as_it_is_said(path: Path) -> None:
    """At each step of every demo plan the board's words are those of the callout."""
    dressing = read_and_compute(path)[1]
    for name in stages(dressing):
        walk = stage(dressing, name)
        state, effects = guide.start(walk, Options())
        while state.base is not Mode.FINISHED:
            said = [effect.message for effect in effects if isinstance(effect, Say)]
            if isinstance(said[-1], StepCall):
                assert_shown(view_of(state, walk, "en"), walk.steps[state.confirmed], said[-1])
            outcome = guide.step(state, planned(state, walk), walk)
            state, effects = outcome.state, outcome.effects
        view = view_of(state, walk, "en")
        assert view.confirmed == view.total == len(walk.steps)


def assert_shown(view: View, step: Step, message: StepCall) -> None:
    shown = f"{view.name}: {view.now}." if view.name else f"{view.now}."
    assert shown.lower() in render(message, Style()).text.lower()
    if step.empty_dents:
        assert f"leave {step.empty_dents} dent" in view.around.lower()
    assert step_note(step, message.stage) in view.around


def test_what_is_left_over_is_asked_on_the_board() -> None:
    """At a stage's end the board asks for the shaft's heddles, and for no ends."""
    threading = stage(read_and_compute(PLANS / "first-try.toml")[1], "thread")
    groups = [["done"] * group.expected + [str(group.expected)] for group in threading.groups]
    view = walked(threading, *[word for group in groups for word in group])
    assert (view.mode, view.count_asked) == (
        "left over",
        "Shaft 1: how many heddles are left over?",
    )
    view = walked(threading, *[word for group in groups for word in group], "41")
    assert view.count_asked == "Shaft 2: how many heddles are left over?"


def test_the_neighbours_are_the_steps_around() -> None:
    """Before and after are the steps next to the present one, in reading too."""
    view = walked(FIRST_TRY, "done", "done")
    assert (view.before, view.after) == ("End 2: shaft 2, dent 2.", "End 4: shaft 4, dent 4.")
    view = walked(FIRST_TRY, *["done"] * 8)
    assert (view.before, view.after) == ("End 8: shaft 4, dent 8.", "End 9: shaft 1, dent 9.")
    view = walked(FIRST_TRY, "done", "done", "done", "read back", "done")
    assert view.now == "Straight draw, unit 1. End 2: shaft 2, dent 2."
    assert (view.before, view.after) == ("End 1: shaft 1, dent 1.", "End 3: shaft 3, dent 3.")


def test_each_mode_shows_its_own_answers() -> None:
    """A count, a held count, a question and a pause each bring what they need and no more."""
    boundary = ["done"] * 8
    view = walked(FIRST_TRY, *boundary)
    assert (view.mode, view.count_asked != "", view.is_held) == ("counting", True, False)
    view = walked(FIRST_TRY, *boundary, "7")
    assert (view.mode, view.count_asked != "", view.is_held) == ("held", True, True)
    view = walked(FIRST_TRY, *boundary, "7", "accept")
    assert (view.mode, view.is_asked, view.count_asked) == ("confirming", True, "")
    assert walked(FIRST_TRY, "pause").is_paused
    assert not walked(FIRST_TRY).is_asked


@given(st.lists(st.sampled_from(
    ["done", "back", "8", "7", "accept", "yes", "no", "undo", "pause", "resume", "read back",
     "mistake", "rewind 3", "repeat"]
), max_size=60))  # fmt: skip
def test_any_walk_can_be_shown(commands: list[str]) -> None:
    """Whatever was given, the view is whole, fits JSON and names the place within the stage."""
    view = walked(FIRST_TRY, *commands)
    assert json.loads(json.dumps(view.as_values()))["now"] == view.now
    assert view.now
    assert 0 <= view.confirmed <= view.total == 40
    if view.name:
        present = describe(FIRST_TRY.steps[view.confirmed], FIRST_TRY)
        assert f"{view.name}: {view.now}".lower() == present


# ---- the feed


@given(st.integers(0, 2 * KEPT), st.integers(-2, 2 * KEPT + 2))
def test_a_board_gets_just_what_it_missed(events: int, last: int) -> None:
    """From any event still kept on, each event comes once and in order; else the whole picture."""
    feed = Feed("run")
    for number in range(1, events + 1):
        feed.line(str(number), "")
    came = feed.after(f"run.{last}")
    if max(0, events - KEPT) <= last <= events:
        assert [json.loads(event.data)["text"] for event in came] == [
            str(number) for number in range(last + 1, events + 1)
        ]
    else:
        assert [event.kind for event in came] == ["whole"]
        lines = json.loads(came[0].data)["lines"]
        assert len(lines) == min(events, LINES_SHOWN)


def test_an_event_is_one_block_of_lines() -> None:
    """Whatever is in a line, the event stays one block (WHATWG HTML, Server-sent events)."""
    feed = Feed("run")
    feed.line("a\nb\r\n\ndata: c\u2028", "trouble")
    text = str(feed.after("run.0")[0])
    assert text.startswith("id: run.1\nevent: line\ndata: {")
    assert text.count("\n") == 4
    assert text.endswith("\n\n")


def test_waiting_boards_are_woken() -> None:
    """What is added wakes whoever waits, and a closed loop is no trouble to the walk."""
    feed = Feed("run")

    async def wait() -> None:
        with feed.waiter() as news:
            assert feed.watched_by == 1
            feed.line("x", "")
            await asyncio.wait_for(news.wait(), 5)

    asyncio.run(wait())
    assert feed.watched_by == 0
    feed.line("y", "")
    assert not feed.has_ended
    feed.end("over")
    assert feed.has_ended
