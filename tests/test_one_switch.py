"""One switch is enough: a whole plan by Enter alone, choices read aloud, and the walk's own pace.

The real command in a pseudo-terminal; waits follow what is printed, never the machine's speed.
"""

from __future__ import annotations

import io
import re
import time
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run, terminal
from made_stages import straight, trial_journal

from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.keys import QuickText
from companion.devices.pedal.table import keyboard_bindings
from companion.devices.pedal.typed import Keyboard
from companion.devices.speech.voice import Voice
from companion.guide import Options
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.walk import StageWalk
from companion.wording import Style

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import pexpect

FIRST_TRY = PLANS / "first-try.toml"
APART = 0.6
"""Seconds between presses that are each meant; the dead time of a key is 0.3."""
UNHURRIED = 2.0
AFTER_OPENING = 1.2
"""Seconds after an opening until a press counts, and a little more."""


def enter(walk: pexpect.spawn[str], wait: float = APART) -> None:
    time.sleep(wait)
    walk.send("\r")


def test_enter_alone_walks_a_plan_from_end_to_end(tmp_path: Path) -> None:
    """Steps and counts: the second press, unhurried, affirms; the record says "not counted"."""
    narrow = tmp_path / "narrow.toml"
    narrow.write_text(FIRST_TRY.read_text().replace("ends = 40", "ends = 16"))
    with closing(terminal(tmp_path, "thread", narrow, "--text", "--step", "group")) as walk:
        for group in (1, 2):
            walk.expect("shafts 1, 2, 3, 4")
            enter(walk, AFTER_OPENING)
            walk.expect_exact("How many")
            enter(walk)
            walk.expect_exact("Done once more if that is your count.")
            enter(walk, UNHURRIED)
            walk.expect_exact(f"Group {group} stands, not counted.")
        walk.expect_exact("is complete")
        walk.expect_exact("Not counted: 2 groups.")
        walk.send("q")
    assert "Group 2 stands, not counted." in run(tmp_path, "log").stdout


def test_a_hasty_second_press_affirms_nothing(tmp_path: Path) -> None:
    """Whoever presses on without looking is told to count first."""
    with closing(terminal(tmp_path, "thread", FIRST_TRY, "--text", "--step", "group")) as walk:
        walk.expect("shafts 1, 2, 3, 4")
        enter(walk, AFTER_OPENING)
        walk.expect_exact("How many")
        enter(walk)
        walk.expect_exact("Done once more")
        enter(walk, 0.6)
        walk.expect_exact("Count first")
        walk.send("8")
        enter(walk)
        walk.expect_exact("Group 2")
        walk.send("q")


@pytest.mark.long
def test_quick_presses_read_the_choices_and_the_next_takes_one(tmp_path: Path) -> None:
    """What was pressed to open them confirms nothing."""
    assert run(tmp_path, "settings", "walk.scan_seconds", "1.5").returncode == 0
    with closing(terminal(tmp_path, "thread", FIRST_TRY, "--text")) as walk:
        walk.expect_exact("End 1: shaft 1, dent 1.")
        time.sleep(APART)
        for _ in range(3):
            walk.send("\r")
            time.sleep(0.2)
        walk.expect_exact("Choices. Done?")
        walk.expect_exact("Back?")
        walk.expect_exact("More choices?")
        time.sleep(APART)
        walk.send("\r")
        walk.expect_exact("Where am i?")
        time.sleep(APART)
        walk.send("\r")
        walk.expect_exact("40 to go")
        walk.send("q")


def test_the_walk_goes_on_by_itself_up_to_the_boundary(tmp_path: Path) -> None:
    """It reads to the group's end and waits for the count, which confirms what was read."""
    assert run(tmp_path, "settings", "walk.pace_seconds", "1").returncode == 0
    with closing(terminal(tmp_path, "thread", FIRST_TRY, "--text", "--step", "4")) as walk:
        walk.expect_exact("Ends 1 to 4")
        walk.expect_exact("Ends 5 to 8")
        walk.expect_exact("How many")
        assert "step 0 of 40" in run(tmp_path, "sessions").stdout
        walk.send("8\r")
        walk.expect_exact("Ends 9 to 12")
        walk.send("x")
        walk.expect_exact("Waiting for you.")
        walk.send("q")
        walk.expect_exact("Your place is kept: 8 of 40")


class Loom:
    """A walk whose clock stands until it is moved, and the keys that lead it."""

    def __init__(self, folder: Path, scan_seconds: float = 2.0) -> None:
        self.now = 100.0
        self.printed = io.StringIO()
        presenter = Presenter(Console(self.printed), Voice(), Style())
        self.journal = trial_journal(folder)
        self.walk = StageWalk(
            straight(),
            self.journal,
            presenter,
            Options(cautions=False, tell_help=False),
            scan_seconds=scan_seconds,
            clock=lambda: self.now,
        )
        self._keys = Keyboard(keyboard_bindings({}), Timing(), 0.3, has_letters=True)
        self.walk.begin()

    def give(self, text: str) -> str:
        """Give a command, and return what is printed."""
        self.printed.truncate(0)
        self.printed.seek(0)
        quick, gave = (text.quick, text.gave) if isinstance(text, QuickText) else (0, "")
        self.walk.take(Input("command", text, "key", quick=quick, gave=gave))
        return self.printed.getvalue()

    def press(self, after: float) -> str:
        """Press Enter so long after the press before, and return what is printed."""
        self.now += after
        outputs = self._keys.press("enter", self.now)
        outputs += self._keys.tick(self.now + Timing().repeat_gap_seconds)
        return "".join(self.give(output.text) for output in outputs)

    def call(self, gap: float = 0.25) -> str:
        """Press three times quickly."""
        return [self.press(after) for after in (0.6, gap, gap)][-1]


@pytest.fixture
def loom(tmp_path: Path) -> Iterator[Loom]:
    loom = Loom(tmp_path)
    yield loom
    loom.journal.close()


def test_a_press_as_the_walk_begins_confirms_nothing(loom: Loom) -> None:
    """It was meant for what came before; a second later it is taken."""
    assert "This has only just begun" in loom.press(0.4)
    assert loom.walk.state.confirmed == 0
    assert "End 2: shaft 2" in loom.press(1.0)


def test_a_press_counts_at_once_where_a_step_was_done_elsewhere(loom: Loom) -> None:
    """Someone at a page has begun already."""
    loom.walk.take(Input("command", "done", "board"))
    assert "End 3: shaft 3" in loom.press(0.4)


@pytest.mark.parametrize("gap", [0.2, 0.25, 0.35, 0.45])
@pytest.mark.parametrize("before", ["mend", "look at group 1", "read back", "back"])
def test_quick_presses_leave_all_as_it_was(loom: Loom, gap: float, before: str) -> None:
    """A question, a look, a reading and the work: each press by itself would have ended them."""
    loom.press(1.2)
    for _ in range(3):
        loom.press(0.6)
    loom.give("3")
    loom.give(before)
    state = loom.walk.state
    assert "Choices." in loom.call(gap)
    assert loom.walk.state == state


def test_quick_presses_are_found_behind_another_command_between_them(loom: Loom) -> None:
    """Of the same page, of another one or of the teacher: only the presses of done count."""
    before = loom.walk.state
    for text in ("done", "repeat", "done", "repeat"):
        loom.walk.take(Input("command", text, "board"))
    assert loom.walk.state.confirmed == 2
    loom.walk.take(Input("command", "choices", "board", quick=2, gave="done"))
    assert loom.walk.state == before


def test_a_reading_goes_on_at_the_pace_and_the_work_waits(loom: Loom) -> None:
    """Without a press to the end of the group; what is read back is not confirmed by it."""
    loom.press(1.2)
    loom.press(0.6)
    before = loom.walk.state.confirmed
    loom.give("keep going every 2")
    loom.give("read back")
    printed = ""
    for _ in range(8):
        loom.now += 2.5
        loom.printed.truncate(0)
        loom.printed.seek(0)
        loom.walk.tick()
        loom.walk.tick()
        printed += loom.printed.getvalue()
    assert re.findall(r"End (\d): shaft", printed) == ["2", "3"]
    assert "End of the reading." in printed
    assert loom.walk.state.reading is None
    assert (loom.walk.state.confirmed, loom.walk.state.only_read) == (before, 0)


def test_what_is_pressed_slowly_before_is_kept(loom: Loom) -> None:
    """Only the quick ones are taken back; one that comes after them is no step either."""
    loom.press(1.2)
    loom.press(0.6)
    assert "Choices. Done?" in loom.call()
    assert loom.press(0.25) == ""
    assert loom.walk.state.confirmed == 2


def test_quick_presses_take_where_a_press_moves_on(tmp_path: Path) -> None:
    """What they moved on is taken back first."""
    loom = Loom(tmp_path, scan_seconds=0)
    loom.press(1.2)
    assert "Choices. Done?" in loom.call()
    assert loom.press(0.6) == "Back?\n"
    assert "End 1: shaft 1" in loom.call()
    loom.journal.close()
