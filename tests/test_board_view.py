"""What the board shows is what the guide says, at every step of real plans; and its feed."""

from __future__ import annotations

import asyncio
import json
import queue
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from board_door import run_apart
from front_door import PLANS
from hypothesis import given
from hypothesis import strategies as st

from companion import guide
from companion.command import Command, Kind, parse
from companion.command.words import FORMS
from companion.guide.effects import Say
from companion.guide.messages import Mode, StepCall
from companion.guide.place import expected_so_far
from companion.guide.state import Options
from companion.guide.terms import Way
from companion.job import stage, stages
from companion.loom.compute import compute, read_and_compute
from companion.out.board.assets import read_page
from companion.out.board.feed import KEPT, LINES_SHOWN, Feed
from companion.out.board.source import BoardSource, Given
from companion.out.board.view import WalkView, view_of
from companion.plan.turned import turned
from companion.wording import Style, render
from companion.wording.notes import step_note

if TYPE_CHECKING:
    from pathlib import Path

    from companion.guide.state import State
    from companion.job import Stage, StageName, Step


def walked(given_stage: Stage, *commands: str) -> WalkView:
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
    woven: tuple[StageName, ...] = ("weave",) if path.stem == "first-try" else ()
    for name in (*stages(dressing), *woven):
        walk = stage(dressing, name)
        state, effects = guide.start(walk, Options())
        while state.base is not Mode.FINISHED:
            said = [effect.message for effect in effects if isinstance(effect, Say)]
            if isinstance(said[-1], StepCall):
                assert_shown(view_of(state, walk, "en"), walk.steps[state.confirmed], said[-1])
            outcome = guide.step(state, planned(state, walk), walk)
            state, effects = outcome.state, outcome.effects
        view = view_of(state, walk, "en")
        assert view.progress["confirmed"] == view.progress["total"] == len(walk.steps)


def assert_shown(view: WalkView, step: Step, message: StepCall) -> None:
    """Every number that is said of the step stands on a line, and what comes with it below."""
    said = render(message, Style()).text
    if not step.shafts and not step.is_floating:
        assert (view.lines, view.headline in said) == ((), True)
    else:
        name, *others = (f"{line.name} {line.value}".strip().lower() for line in view.lines)
        assert name in said.lower()
        for other in others:
            assert not (set(re.findall(r"\d+", other)) - set(re.findall(r"\d+", said)))
        assert [line.rank for line in view.lines].count("wanted") == 1
        assert view.headline == ""
    if step.empty_dents:
        assert f"leave {step.empty_dents} dent" in view.detail.lower()
    assert step_note(step, message.stage) in view.detail


def shown_lines(view: WalkView) -> list[tuple[str, str]]:
    return [(f"{line.name} {line.value}", line.rank) for line in view.lines]


def test_threading_wants_the_shaft_and_sleying_the_ends() -> None:
    """The wanted number is what the hands need next; the others stand by it."""
    assert shown_lines(walked(FIRST_TRY)) == [
        ("End 1", "name"),
        ("Shaft 1", "wanted"),
        ("Dent 1", "also"),
    ]
    dressing = read_and_compute(PLANS / "striped-towels.toml")[1]
    assert shown_lines(walked(stage(dressing, "thread"))) == [
        ("End 1", "name"),
        ("Shaft 1", "wanted"),
    ]
    assert shown_lines(walked(stage(dressing, "sley"), "done")) == [
        ("Dent 2", "name"),
        ("Ends 2 and 3", "wanted"),
        ("Shafts 2, 3", "also"),
    ]
    assert shown_lines(walked(stage(dressing, "thread-and-sley"), "4 at a time")) == [
        ("Ends 1 to 4", "name"),
        ("Shafts 1, 2, 3, 4", "wanted"),
        ("Dents 1, 2, 2, 3", "also"),
    ]


def test_what_is_left_over_is_asked_on_the_board() -> None:
    """At a stage's end the board asks for the shaft's heddles, and for no ends."""
    threading = stage(read_and_compute(PLANS / "first-try.toml")[1], "thread")
    groups = [["done"] * group.expected + [str(group.expected)] for group in threading.groups]
    view = walked(threading, *[word for group in groups for word in group])
    assert (view.mode, view.headline) == ("left over", "Shaft 1: heddles left?")
    assert next(iter(view.keys)) == "count"
    view = walked(threading, *[word for group in groups for word in group], "41")
    assert view.headline == "Shaft 2: heddles left?"


def test_more_in_hand_is_shown_together() -> None:
    """As many steps as the weaver wants told at a time stand on the lines, and in the strip."""
    view = walked(FIRST_TRY, "4 at a time", "keep it short")
    assert shown_lines(view) == [
        ("Ends 1 to 4", "name"),
        ("Shafts 1, 2, 3, 4", "wanted"),
        ("Dents 1 to 4", "also"),
    ]
    assert (view.size, view.telling) == ("4", "short")
    assert view.after == "End 5: shaft 1, dent 5."
    assert view.strip is not None
    assert [end[3] for end in view.strip["ends"][:5]] == [1, 1, 1, 1, 2]


def test_the_neighbours_are_the_steps_around() -> None:
    """Before and after are the steps next to the present one; while asked, there are none."""
    view = walked(FIRST_TRY, "done", "done")
    assert (view.before, view.after) == ("End 2: shaft 2, dent 2.", "End 4: shaft 4, dent 4.")
    view = walked(FIRST_TRY, *["done"] * 8)
    assert (view.before, view.after) == ("", "")


def test_each_mode_shows_its_own_answers() -> None:
    """A count, a held count, a question and a pause each bring what they need and no more."""
    boundary = ["done"] * 8
    view = walked(FIRST_TRY, *boundary)
    assert (view.headline, next(iter(view.keys))) == ("How many ends are in heddles?", "count")
    assert view.keys["done"] == "done"
    view = walked(FIRST_TRY, *boundary, "7")
    assert view.headline == "7 ends, 8 planned"
    assert {"count", "mend", "accept"} <= set(view.keys)
    view = walked(FIRST_TRY, *boundary, "7", "accept")
    assert (view.headline, list(view.keys)[:2]) == ("Let 7 stand?", ["yes", "no"])
    view = walked(FIRST_TRY, *boundary, "7", "mend")
    assert view.headline == "Mend it this way?"
    view = walked(FIRST_TRY, *boundary, "7", "1 2 4 3 1 2 3 4", "mend", "yes")
    assert (view.mode, view.detail[:15]) == ("mending", "Mending: step 1")
    assert view.headline.startswith("Pull ends 3 and 4 out")
    view = walked(FIRST_TRY, *boundary, "8", "rewind 3")
    assert view.headline == "Back to end 3?"
    assert walked(FIRST_TRY, "mistake").mode == "walking"
    assert walked(FIRST_TRY, "done", "mistake").headline == "How many so far?"
    view = walked(FIRST_TRY, "pause")
    assert (view.headline, next(iter(view.keys))) == ("Resting", "resume")
    view = walked(FIRST_TRY, *boundary, "read back")
    assert (shown_lines(view)[0], view.detail) == (
        ("End 1", "name"),
        "Reading back. Straight draw, unit 1.",
    )


def test_the_strip_shows_what_is_done_and_in_hand() -> None:
    """The present end, those done, and at a count just the ends that are counted."""
    shown = walked(FIRST_TRY, "done", "done").strip
    assert shown is not None
    assert shown["shafts"] == 4
    assert [end[:2] for end in shown["ends"][:5]] == [(1, 1), (2, 2), (3, 3), (4, 4), (5, 1)]
    assert [end[3] for end in shown["ends"][:4]] == [0, 0, 1, 2]
    assert shown["cuts"][:2] == [8, 16]
    shown = walked(FIRST_TRY, *["done"] * 8, "8", *["done"] * 8).strip
    assert shown is not None
    assert [end[3] for end in shown["ends"][:18]] == [0] * 8 + [3] * 8 + [2] * 2
    beam = stage(read_and_compute(PLANS / "striped-towels.toml")[1], "beam")
    assert walked(beam).strip is None


def test_a_group_that_is_looked_at_is_shown_from_weaving_too() -> None:
    """What is asked for can be given there: its shafts, with its ends in view, not the place."""
    weaving = stage(read_and_compute(PLANS / "first-try.toml")[1], "weave")
    for walk in (weaving, FIRST_TRY):
        there = ["done"] * 8 + ["8"] * (walk is FIRST_TRY)
        view = walked(walk, *there, "look at group 1")
        assert (view.headline, view.has_shafts) == ("Looking at group 1", True)
        assert view.strip is not None
        assert [end[3] for end in view.strip["ends"][:8]] == [3] * 8
        assert view.strip["ends"][8][3] == (0 if walk is weaving else 2)
    assert walked(weaving, "done").strip is None


def test_what_is_typed_elsewhere_has_a_key_too() -> None:
    """A tablet may be all there is at a loom: a plan corrected, the wrong edge begun at."""
    weaving = stage(read_and_compute(PLANS / "first-try.toml")[1], "weave")
    more = {"cautions", "new plan", "wrong edge"}
    assert more & set(walked(FIRST_TRY).keys) == more
    assert more & set(walked(weaving).keys) == more - {"wrong edge"}
    state, _ = guide.start(FIRST_TRY, Options())
    for way, offered in ((Way.EDGE, True), (Way.ANEW, False)):
        asked = replace(state, question=Command(Kind.WRONG_EDGE, text=way))
        assert ("wrong edge" in view_of(asked, FIRST_TRY, "en").keys) is offered


def test_a_key_is_called_what_gives_it() -> None:
    """Who reads a key can say it: its name is the command, or begins one that takes more."""
    table = read_page("keys.js").partition("const KEYS")[2].partition("];")[0]
    rows = re.findall(r'\["[^\n]+', table.replace('"left over":', ""))
    assert len(rows) > 20
    for row in rows:
        kind, *labels = re.findall(r'"([^"]+)"', row)
        for label in labels:
            assert _gives(label, "read back" if kind == "read group" else kind), label


def _gives(label: str, kind: str) -> bool:
    said = label.partition(":")[0].lower()
    forms = FORMS["en"].get(kind, ("shafts you feel",))
    if said.endswith("\u2026"):
        return any(form.startswith(said[:-1]) for form in forms)
    return said in forms


def test_the_way_tells_of_every_group() -> None:
    """Where the groups end, the present one, and those that stand as they should not."""
    view = walked(FIRST_TRY, *["done"] * 8, "7", "accept", "yes", "done")
    assert view.progress["ends_at"] == [8, 16, 24, 32, 40]
    assert (view.progress["group"], view.progress["confirmed"]) == (2, 9)
    assert view.progress["stood"] == [1]


@given(st.lists(st.sampled_from(
    ["done", "back", "8", "7", "accept", "yes", "no", "undo", "pause", "resume", "read back",
     "mistake", "rewind 3", "repeat", "look at group 1", "look at a group", "1"]
), max_size=60))  # fmt: skip
def test_any_walk_can_be_shown(commands: list[str]) -> None:
    """Whatever was given, the view is whole, fits JSON and names the place within the stage."""
    view = walked(FIRST_TRY, *commands)
    values = json.loads(json.dumps(view.as_values()))
    assert values["headline"] == view.headline
    assert bool(view.lines) != bool(view.headline)
    assert view.keys
    assert 0 <= view.progress["confirmed"] <= view.progress["total"] == 40


class TurnedWalk:
    """A walk whose plan is turned to the other edge before anything is confirmed."""

    def __init__(self) -> None:
        self.stage = FIRST_TRY
        self.state = guide.start(FIRST_TRY, Options())[0]

    def turn(self) -> None:
        plan = read_and_compute(PLANS / "first-try.toml")[0]
        self.stage = stage(compute(turned(plan, "edge")), "thread-and-sley")
        self.state = guide.start(self.stage, Options())[0]


def test_a_turned_edge_is_shown() -> None:
    """Though the stage has the same name, and the weaver is where she was in it."""
    walk = TurnedWalk()
    board = BoardSource("First try", lambda: walk, "en")  # type: ignore[arg-type, return-value]
    before = walk.state
    board.follow(Mode.WALKING, 40)
    board.start(queue.Queue())
    walk.turn()
    for _ in range(2):
        board.follow(Mode.WALKING, 40)
    assert walk.state == before
    shown = board.feed.after(f"{board.feed.run}.0")
    assert [json.loads(each.text)["data"]["edge"] for each in shown] == ["right", "left"]


def test_no_place_is_shown_before_a_command_can_be_taken() -> None:
    """A page that answers at once would be told that the walk has ended."""
    board = BoardSource("First try", TurnedWalk, "en")  # type: ignore[arg-type]
    board.follow(Mode.WALKING, 40)
    assert board.feed.after(f"{board.feed.run}.0") == []
    board.start(queue.Queue())
    assert len(board.feed.after(f"{board.feed.run}.0")) == 1
    given = Given(id="press-0001", text="done", step=1, run=board.feed.run)
    assert not board.give(given).done()


# ---- the feed


@given(st.integers(0, 2 * KEPT), st.integers(-2, 2 * KEPT + 2))
def test_a_board_gets_just_what_it_missed(events: int, last: int) -> None:
    """From any event still kept on, each event comes once and in order; else the whole picture."""
    feed = Feed("run")
    for number in range(1, events + 1):
        feed.line(str(number), "")
    came = feed.after(f"run.{last}")
    if max(0, events - KEPT) <= last <= events:
        assert [json.loads(event.text)["data"]["text"] for event in came] == [
            str(number) for number in range(last + 1, events + 1)
        ]
    else:
        assert [json.loads(event.text)["kind"] for event in came] == ["whole"]
        lines = json.loads(came[0].text)["data"]["lines"]
        assert len(lines) == min(events, LINES_SHOWN)


def test_waiting_boards_are_woken() -> None:
    """What is added wakes whoever waits, and a closed loop is no trouble to the walk."""
    feed = Feed("run")

    async def wait() -> None:
        with feed.waiter() as news:
            assert feed.watched_by == 1
            feed.line("x", "")
            await asyncio.wait_for(news.wait(), 5)

    run_apart(wait())
    assert feed.watched_by == 0
    feed.line("y", "")
    assert not feed.has_ended
    feed.end("over")
    assert feed.has_ended
