"""The hand-over: what the next person reads or hears of a session."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import heard
import pytest
from front_door import PLANS, run, start

from companion import guide
from companion.command import parse
from companion.devices.audio import wav
from companion.guide import Mode, Options, State
from companion.guide.events import to_json
from companion.job import stage
from companion.loom.compute import read_and_compute
from companion.out.handover.pace import Forecast
from companion.out.handover.record import hand_over_of
from companion.out.handover.words import duration, hand_over, time_left
from companion.record import Entry, EntryKind, Journal

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from companion.guide.events import Events
    from companion.job import StageName

FIRST_TRY = PLANS / "first-try.toml"
BEGAN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


class Walker:
    """Walks a plan into a journal at times of its own choosing, through the real guide."""

    def __init__(self, folder: Path, names: Iterable[StageName] = ("thread-and-sley",)) -> None:
        plan, dressing = read_and_compute(FIRST_TRY)
        self.stages = {name: stage(dressing, name) for name in names}
        self.journal = Journal.create(
            folder,
            title=plan.file.title,
            plan_path=str(plan.path),
            plan_text=plan.text,
            draft_text=plan.draft_text,
            fingerprint=plan.fingerprint,
            options={"stages": list(self.stages)},
        )
        self.now = BEGAN
        self._states: dict[StageName, State] = {}

    def sit(
        self, weaver: str, name: StageName = "thread-and-sley", *, is_next: bool = False
    ) -> None:
        """Begin a sitting, or go on with the next stage in it."""
        self.journal.weaver = weaver
        known = self._states.get(name)
        state = known or guide.start(self.stages[name], Options())[0]
        self._states[name] = state
        self._write(EntryKind.NEXT if is_next else EntryKind.OPEN, name, "", state)

    def say(self, words: str, seconds: float, name: StageName = "thread-and-sley") -> None:
        """Give a command after so many seconds."""
        self.now += timedelta(seconds=seconds)
        outcome = guide.step(self._states[name], parse(words), self.stages[name])
        assert outcome.is_accepted, words
        self._states[name] = outcome.state
        self._write(EntryKind.COMMAND, name, words, outcome.state, outcome.events)

    def right(self, steps: int, seconds: float, name: StageName = "thread-and-sley") -> None:
        """Confirm steps, each after so many seconds, giving right counts at once where asked."""
        for _ in range(steps):
            self.say("done", seconds, name)
            state, walked = self._states[name], self.stages[name]
            if state.mode is Mode.COUNTING:
                self.say(f"count {walked.groups[state.checked].expected}", 0, name)
            while self._states[name].mode is Mode.LEFT_OVER:
                self.say("done", 0, name)

    def leave(
        self, hours: float, why: str = "stopped", name: StageName = "thread-and-sley"
    ) -> None:
        """End the sitting; nobody is there for some hours."""
        self._write(EntryKind.CLOSE, name, why, None)
        self.now += timedelta(hours=hours)

    def lines(self) -> list[str]:
        """Return the hand-over as it is printed."""
        return list(hand_over(hand_over_of(self.journal)))

    def _write(
        self,
        kind: EntryKind,
        name: StageName,
        words: str,
        state: State | None,
        came: Events = (),
    ) -> None:
        self.journal.append(
            Entry(
                kind=kind,
                stage=name,
                source="key",
                words=words,
                events=to_json(came),
                state=state.to_json() if state else None,
                position=self._states[name].confirmed,
                total=len(self.stages[name].steps),
                is_finished=self._states[name].base is Mode.FINISHED,
                at=self.now.isoformat(timespec="milliseconds"),
            )
        )


def test_a_session_is_handed_over_at_the_question_for_heddles(tmp_path: Path) -> None:
    """Left where heddles are asked for, the session opens, and the question comes next."""
    walker = Walker(tmp_path, ("thread",))
    walker.sit("Ana", "thread")
    walker.right(39, 10, "thread")
    walker.say("done", 10, "thread")
    walker.say(f"count {walker.stages['thread'].groups[-1].expected}", 5, "thread")
    walker.say("40", 5, "thread")
    lines = walker.lines()
    assert any(line.startswith("Shaft 2: how many heddles are left over?") for line in lines)


def test_a_count_that_ran_ahead_is_in_doubt(tmp_path: Path) -> None:
    """The next person is asked, since nobody else can look whether more was done."""
    walker = Walker(tmp_path, ("thread",))
    walker.sit("Ana", "thread")
    walker.right(2, 10, "thread")
    walker.say("count 5", 5, "thread")
    lines = walker.lines()
    assert any(
        line.startswith("5, but only 2 are confirmed. Are the next 3 steps") for line in lines
    )
    assert any("is in doubt" in line for line in lines)


def test_two_people_and_a_night_between(tmp_path: Path) -> None:
    """Ana does 20 ends at two a minute, Ben 8 at one: worked out by hand, each line is so."""
    walker = Walker(tmp_path)
    walker.sit("Ana")
    walker.right(20, 30)
    walker.leave(14)
    walker.sit("Ben")
    walker.say("pause", 0)
    walker.say("resume", 200)
    walker.right(8, 60)
    lines = walker.lines()
    assert lines[0] == (
        "First try, a narrow band. Session first-try-a-1. Last worked on 2026-03-03 05:06 by Ben."
    )
    assert "Threading and sleying: 28 of 40 steps confirmed." in lines
    assert (
        "Threading and sleying, Ana: ends 1 to 20; 10 minutes at work, about 120 ends an hour."
        in lines
    )
    assert "Threading and sleying, Ben: ends 21 to 28; 8 minutes at work." in lines
    assert "Sitting of 2026-03-02 14:45, Ana: 10 minutes at work." in lines
    assert "Sitting of 2026-03-03 04:55, Ben: 8 minutes at work." in lines
    # 28 ends in 18 minutes. The fifths are steps 1-5, 6-11, 12-16, 17-22 and 23-28: the
    # quickest takes 30 seconds a step and the slowest 60, for 12 more steps.
    left = "between 5 minutes and 15 minutes"
    assert lines[-2:] == [
        "Pace of threading and sleying so far, slips and mends included: about 93 ends an hour.",
        f"Time left in threading and sleying at that pace: {left} at work.",
    ]


def test_a_pace_that_no_hand_has_is_not_told(tmp_path: Path) -> None:
    """Three ends a second, pressed to come to the right place: neither hers nor the stage's."""
    walker = Walker(tmp_path)
    walker.sit("Ana")
    walker.right(24, 0.3)
    lines = walker.lines()
    assert not any("an hour" in line for line in lines)
    assert lines[-1].startswith("Some steps were confirmed at once or quicker than hands work")


def test_the_place_is_told_so_that_hands_can_find_it(tmp_path: Path) -> None:
    """The next person hears edge, shaft one, the last end by touch, and what comes next."""
    walker = Walker(tmp_path)
    walker.sit("Ana")
    walker.right(10, 30)
    told = "\n".join(walker.lines())
    assert "Start at the right edge, seen from the front." in told
    assert "Shaft 1 is the front shaft" in told
    assert "Check it by touch: end 10 is on shaft 2 and in dent 10." in told
    assert "End 11: shaft 3, dent 11." in told
    assert "Pace and time left can be told after 20 steps of a stage" in told


def test_what_is_open_is_told(tmp_path: Path) -> None:
    """A wrong count that stands, with its reason, errors reported, and one not settled."""
    walker = Walker(tmp_path)
    walker.sit("Ana")
    for words in [*["done"] * 8, "count 7", "accept one was broken", "yes", "done", "mistake"]:
        walker.say(words, 5)
    told = "\n".join(walker.lines())
    assert "Group 1 stands with 7 instead of 8. Reason: one was broken." in told
    assert "a mistake was reported after step 9" in told
    assert "something is in doubt and not settled yet" in told
    assert "Group 2 so far: how many ends are in heddles?" in told
    walker.say("count 1", 5)
    assert not any("in doubt" in line for line in walker.lines())
    walker.say("count 9", 5)
    assert any("9 so far, but 1 is planned." in line for line in walker.lines())
    assert any("in doubt" in line for line in walker.lines())


def test_a_pause_or_a_reading_does_not_hide_the_place(tmp_path: Path) -> None:
    """Whoever left in the middle of a reading or a rest, the next person hears the step."""
    walker = Walker(tmp_path)
    walker.sit("Ana")
    walker.right(3, 5)
    for words in ("read back", "pause"):
        walker.say(words, 5)
        assert any("End 4: shaft 4, dent 4." in line for line in walker.lines())


def test_stages_still_to_come_are_named(tmp_path: Path) -> None:
    """In separate passes the time left is of the pass at hand, and says what it leaves out."""
    walker = Walker(tmp_path, ("thread", "sley"))
    walker.sit("Ana", "thread")
    walker.right(30, 30, "thread")
    assert walker.lines()[-1].endswith("at work. Not in it: sleying.")
    walker.right(10, 30, "thread")
    lines = walker.lines()
    assert "Threading: finished." in lines
    assert any(line.startswith("Sleying. Start at the right edge") for line in lines)
    walker.sit("Ana", "sley", is_next=True)
    walker.right(1, 30, "sley")
    # Going on to the pass after is no new sitting.
    assert any(
        line.startswith(("1 sitting, 20 minutes at work", "1 sitting, 21 minutes at work"))
        for line in walker.lines()
    )


def test_a_finished_session_says_so(tmp_path: Path) -> None:
    """With nothing left the totals are told and no time."""
    walker = Walker(tmp_path)
    walker.sit("")
    walker.right(40, 10)
    lines = walker.lines()
    assert "All that this session was begun for is finished." in lines
    assert any("40 ends in 5 groups" in line for line in lines)
    assert not any("so far" in line or "Start at" in line for line in lines)
    whole = "Threading and sleying, Nobody named: ends 1 to 40; 7 minutes at work, "
    assert f"{whole}about 360 ends an hour." in lines


def test_nothing_yet_is_a_hand_over_too(tmp_path: Path) -> None:
    """A session without an entry is told from its plan."""
    lines = Walker(tmp_path).lines()
    assert "Nothing is recorded yet." in lines[0]
    assert any("End 1: shaft 1, dent 1." in line for line in lines)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "under a minute"),
        (60, "1 minute"),
        (3540, "59 minutes"),
        (3600, "1 hour"),
        (7500, "2 hours 5 minutes"),
    ],
)
def test_times_are_told_in_hours_and_minutes(seconds: float, words: str) -> None:
    """Nobody has to divide by 60."""
    assert duration(seconds) == words


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (30, 90, "between under a minute and 2 minutes"),
        (3000, 3000, "50 minutes"),
        (3120, 4750, "between 50 minutes and 1 hour 20 minutes"),
    ],
)
def test_a_range_is_rounded_outwards(least: float, most: float, words: str) -> None:
    """52 to 79.2 minutes become 50 to 80, never 55 to 75."""
    assert time_left(Forecast(least, most)) == words


def test_the_command_prints_and_speaks(tmp_path: Path) -> None:
    """Through the front door, after two sittings: every printed line but the last is one sound."""
    out = tmp_path / "heard.wav"
    run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=["done"] * 5)
    run(tmp_path, "resume", "--text", "--weaver", "Ben", lines=["done"] * 2)
    before = run(tmp_path, "log").stdout
    told = run(tmp_path, "handover", "first", "--audio-out", out)
    assert (told.returncode, told.stderr) == (0, "")
    printed = told.stdout.splitlines()
    assert "Threading and sleying, Ana: ends 1 to 5" in told.stdout
    assert "Threading and sleying, Ben: ends 6 and 7" in told.stdout
    assert printed[-1] == "To take over: companion resume first-try-a-1 --weaver NAME"
    spoken = [label.text for label in heard.labels(out) if label.text.startswith("line: ")]
    assert len(spoken) == len(printed) - 1
    assert len(heard.segments(wav.read(out))) >= len(spoken)
    assert run(tmp_path, "log").stdout == before


def test_of_a_finished_session_nobody_is_told_to_take_over(tmp_path: Path) -> None:
    """It ends on what is finished, here and where it is brought."""
    here, there, stick = tmp_path / "here", tmp_path / "there", tmp_path / "band.session"
    walk = ("thread", FIRST_TRY, "--text", "--step", "group")
    assert "complete" in run(here, *walk, lines=["done"] * 30).stdout
    told = run(here, "handover").stdout
    assert told.endswith("All that this session was begun for is finished.\n")
    assert run(here, "carry", "--to", stick).returncode == 0
    brought = run(there, "bring", stick)
    assert brought.stdout.startswith("Added first-try-a-1 with ")
    assert brought.stdout.count("\n") == 1


def test_a_walk_can_be_handed_over_while_it_goes_on(tmp_path: Path) -> None:
    """Reading the hand-over of a session that is being walked takes nothing from it."""
    process = start(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "Ana")
    assert process.stdin is not None
    assert process.stdout is not None
    for line in process.stdout:
        if "End 1:" in line:
            break
    told = run(tmp_path, "handover")
    rest, _ = process.communicate("done\n", timeout=30)
    assert told.returncode == 0
    assert "0" not in re.findall(r"End (\d+): shaft", told.stdout)
    assert "End 1: shaft 1" in told.stdout
    assert "End 2: shaft 2" in rest


def test_no_session_is_said(tmp_path: Path) -> None:
    """Without a session there is one line and no traceback."""
    told = run(tmp_path, "handover")
    assert (told.returncode, told.stdout) == (2, "")
    assert "No sessions yet" in told.stderr
