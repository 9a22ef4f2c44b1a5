"""One switch is enough: a whole plan by Enter alone, choices read aloud, and the walk's own pace.

The real command in a pseudo-terminal; waits follow what is printed, never the machine's speed.
"""

from __future__ import annotations

import time
from contextlib import closing
from typing import TYPE_CHECKING

from front_door import PLANS, run, terminal

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

FIRST_TRY = PLANS / "first-try.toml"
APART = 0.6
"""Seconds between presses that are each meant; the dead time of a key is 0.3."""
UNHURRIED = 2.0


def enter(walk: pexpect.spawn[str], wait: float = APART) -> None:
    time.sleep(wait)
    walk.send("\r")


def test_enter_alone_walks_a_plan_from_end_to_end(tmp_path: Path) -> None:
    """Steps and counts: the second press, unhurried, affirms; the record says "not counted"."""
    with closing(terminal(tmp_path, "thread", FIRST_TRY, "--text", "--step", "group")) as walk:
        for group in range(1, 6):
            walk.expect_exact(f"Group {group}")
            walk.expect("shafts 1, 2, 3, 4")
            enter(walk)
            walk.expect_exact("How many")
            enter(walk)
            walk.expect_exact("Done once more if that is your count.")
            enter(walk, UNHURRIED)
            walk.expect_exact(f"Group {group} stands, not counted.")
        walk.expect_exact("is complete")
        walk.expect_exact("Not counted: 5 groups.")
        walk.send("q")
    assert "Group 3 stands, not counted." in run(tmp_path, "log").stdout


def test_a_hasty_second_press_affirms_nothing(tmp_path: Path) -> None:
    """Whoever presses on without looking is told to count first."""
    with closing(terminal(tmp_path, "thread", FIRST_TRY, "--text", "--step", "group")) as walk:
        walk.expect("shafts 1, 2, 3, 4")
        enter(walk)
        walk.expect_exact("How many")
        enter(walk)
        walk.expect_exact("Done once more")
        enter(walk, 0.6)
        walk.expect_exact("Count first")
        walk.send("8")
        enter(walk)
        walk.expect_exact("Group 2")
        walk.send("q")


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
        walk.expect_exact("Where am i?")
        walk.send("\r")
        walk.expect_exact("0 per cent")
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
