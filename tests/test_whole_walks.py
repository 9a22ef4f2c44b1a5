"""A plan from its first end to its last by one means alone, through a wrong count and a mend.

The real command in a pseudo-terminal, or a recording through the real recogniser. Waits follow
what is printed; a pause is only ever made so that a press is not taken for a hasty one.
"""

from __future__ import annotations

import re
import time
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from front_door import run, terminal
from voice_recordings import record_sounds
from vosk_korean import Voice, say

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

SIX_ENDS = """\
title = "Six ends"
[warp]
ends = 6
ends_per_inch = 10
[reed]
dents_per_inch = 10
width = 24
[loom]
shafts = 4
[[threading]]
ends = "1 to 3"
times = "fill"
[groups]
by = "ends"
size = 3
"""
MENDED = (
    "Find end 2: it is on shaft 1. Pull it out.",
    "Tie a repair heddle on shaft 2 at that spot.",
    "Draw end 2 through the repair heddle, on shaft 2.",
    "Put end 2 into dent 2.",
)
"""What is walked where end 2 is felt on shaft 1."""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A plan of two groups."""
    path = tmp_path / "six.toml"
    path.write_text(SIX_ENDS)
    return path


APART = 0.6
"""Seconds between presses that are each meant: longer than quick ones are apart."""


MORE = "More choices"
"""The last of the likeliest choices, which leads to the others."""


class Switch:
    """One switch that sends Enter, and a weaver who presses when she has heard something."""

    def __init__(self, walk: pexpect.spawn[str]) -> None:
        self.walk = walk

    def press(self, *heard: str, after: float = APART) -> None:
        """Wait until these have been said, one after the other, and press once."""
        for line in heard:
            self.walk.expect_exact(line)
        time.sleep(after)
        self.walk.send("\r")

    def call(self) -> None:
        """Press three times quickly."""
        time.sleep(APART)  # the one before was meant
        for _ in range(3):
            self.walk.send("\r")
            time.sleep(0.2)

    def choose(self, wanted: str) -> None:
        """Have the choices read, and take one of them as it is said."""
        self.call()
        self.walk.expect_exact("Choices.")
        self.take(wanted)

    def take(self, wanted: str) -> None:
        """Take what is being read out once it is this, by way of the further choices if need be."""
        more = True
        while more:
            more = self.walk.expect_exact([f"{wanted}?", f"{MORE}?"]) == 1
            self.press()


class Stepping(Switch):
    """The same where a press moves on among the choices and a hold, which sends c, takes."""

    def call(self) -> None:
        """Hold the switch."""
        time.sleep(APART)
        self.walk.send("c")

    def take(self, wanted: str) -> None:
        """Move on to what is wanted, and take it."""
        while True:
            self.walk.expect(r"([^\r\n.]+)\?\r\n")
            said = str(self.walk.match[1]).strip()
            if said in {wanted, MORE}:
                self.call()
            else:
                self.press()
            if said == wanted:
                break


def walk_it(switch: Switch) -> None:
    """Walk six ends: a wrong count set right, and from group 2 a mend in group 1."""
    walk = switch.walk
    switch.press("End 1: shaft 1, dent 1.", after=1.2)
    switch.press("End 2: shaft 2, dent 2.")
    switch.press("End 3: shaft 3, dent 3.")
    walk.expect_exact("How many")
    switch.choose("A number")
    switch.take("2")
    switch.press("2, but 3 are planned. Count once more.")
    walk.expect_exact("Count once more first, or say accept")
    switch.choose("A number")
    switch.take("3")
    walk.expect_exact("3, right.")
    switch.press("End 4: shaft 1, dent 4.")
    walk.expect_exact("End 5: shaft 2, dent 5.")
    switch.choose("Look at group")
    switch.take("1")
    walk.expect_exact("Group 1, ends 1 to 3: name the shafts you feel.")
    switch.choose("The shafts you feel")
    for shaft in ("1", "1", "3", "That is all"):
        switch.take(shaft)
    walk.expect_exact("end 2 is on shaft 1")
    switch.choose("Mend")
    walk.expect_exact("Say yes or no to that")
    switch.choose("Yes")
    for task in MENDED:
        switch.press(task)
    switch.press("Group 1 is put right.", "End 5: shaft 2, dent 5.")
    switch.press("End 6: shaft 3, dent 6.")
    switch.press("How many")
    switch.press("Done once more if that is your count.", after=2.0)
    walk.expect_exact("Group 2 stands, not counted.")
    walk.expect_exact("Threading and sleying is complete: 6 ends in 2 groups.")


def check_record(home: Path) -> None:
    """Nothing was confirmed by the presses that called the choices, and the mend is on record."""
    log = run(home, "log").stdout
    assert "Group 1 put right, reported felt 1, 1, 3." in log
    assert "Group 2 stands, not counted." in log
    assert "threading and sleying, finished" in run(home, "sessions").stdout


@pytest.mark.long
def test_enter_alone(plan: Path, tmp_path: Path) -> None:
    """The choices are read by themselves, and Enter takes the one just said."""
    assert run(tmp_path, "settings", "walk.scan_seconds", "1.5").returncode == 0
    with closing(terminal(tmp_path, "thread", plan, "--text")) as walk:
        walk_it(Switch(walk))
        walk.send("q")
    check_record(tmp_path)


@pytest.mark.long
def test_one_switch_that_moves_on_and_takes(plan: Path, tmp_path: Path) -> None:
    """Nothing hangs on time: a press moves on among the choices, and a hold takes."""
    assert run(tmp_path, "settings", "walk.scan_seconds", "0").returncode == 0
    with closing(terminal(tmp_path, "thread", plan, "--text")) as walk:
        walk_it(Stepping(walk))
        walk.send("q")
    check_record(tmp_path)


TAUGHT_AT = (Voice("en-gb", 150, 50), Voice("en-gb", 160, 52), Voice("en-gb", 172, 48))
"""The takes a word is taught with, by espeak-ng, a synthetic voice."""
SPOKEN_AT = Voice("en-gb", 165, 51)
CUT = 6400
"""Bytes of quiet, a fifth of a second, to leave out on each side of a word within a row."""
TAUGHT = ("next one", "look at a group", "mend it", "yes please", "one", "two", "three")


@pytest.mark.long
def test_taught_words_alone(plan: Path, tmp_path: Path) -> None:
    """Real audio through the real recogniser, and the record knows of no key."""
    takes = [say(word, voice) for word in TAUGHT for voice in TAUGHT_AT]
    lesson = record_sounds(tmp_path / "lesson.wav", takes)
    assert run(tmp_path, "teach", *TAUGHT, "--audio-in", lesson).returncode == 0
    row = b"".join(say(word, SPOKEN_AT)[CUT:-CUT] for word in ("one", "one", "three"))
    done = ["next one"] * 3
    words = [*done, "two", "three", "next one", "look at a group", "one", row, "mend it"]
    words += ["yes please", *["next one"] * len(MENDED), *done[1:], "three"]
    sounds = [word if isinstance(word, bytes) else say(word, SPOKEN_AT) for word in words]
    recording = record_sounds(tmp_path / "walk.wav", sounds)
    walked = run(tmp_path, "thread", plan, "--text", "--audio-in", recording)
    assert "Not taken" not in walked.stdout, walked.stdout
    told = [
        "2, but 3 are planned. Count once more.",
        "3, right.",
        "Which group? Say its number.",
        "Group 1, ends 1 to 3: name the shafts you feel.",
        *MENDED,
        "Group 1 is put right.",
        "End 5: shaft 2, dent 5.",
        "Threading and sleying is complete: 6 ends in 2 groups.",
    ]
    assert re.search(".*".join(map(re.escape, told)), walked.stdout, re.DOTALL)
    log = run(tmp_path, "log").stdout
    assert "Group 1 put right, reported felt 1, 1, 3." in log
    assert set(re.findall(r", (voice|key|line)$", log, re.MULTILINE)) == {"voice"}
