"""Pace and shares from the record: time at work, time left, who did what; and when to rest."""

from __future__ import annotations

import io
import random
from contextlib import closing
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from journal_walker import begin
from made_stages import Made, make_stage
from small_plans import untimed

from companion.devices.speech.voice import Voice
from companion.guide import Options
from companion.out.handover.facts import contributions, owners
from companion.out.handover.pace import (
    ENOUGH_STEPS,
    GAP_SECONDS,
    Moment,
    an_hour,
    forecast,
    sittings,
    step_seconds,
    work,
)
from companion.record import store
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.sitting import Sitting
from companion.session.timing import PAUSE_SECONDS, BreakReminder
from companion.wording import Style

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from companion.guide import Mode
    from companion.record import Journal
    from companion.session.inputs import Inbox

STAGE: Final = "thread"
WALKED = make_stage(STAGE, [("", [Made((1,))] * 150)])


def at(
    seconds: float,
    position: int,
    weaver: str = "Ana",
    *,
    is_opening: bool = False,
    is_paused: bool = False,
    confirms: int = 0,
) -> Moment:
    """Return a moment at which so many steps, the last ones, were confirmed."""
    steps = (position - confirms + 1, position) if confirms else None
    return Moment(seconds, STAGE, position, weaver, is_opening, is_paused, steps)


def test_pauses_and_long_gaps_are_left_out() -> None:
    """Of an hour with a said pause and an empty quarter, only the minutes at work are told."""
    record = [
        at(0, 0, is_opening=True),
        at(60, 1),
        at(120, 1, is_paused=True),
        at(290, 1),  # resumed
        at(350, 2),
        at(350 + GAP_SECONDS, 3),  # just not too long
        at(2000, 4),
        at(2060, 5),
    ]
    (only,) = sittings(record)
    assert only.seconds == 60 + 60 + 60 + GAP_SECONDS + 60
    assert (only.first_at, only.weavers) == (0, ("Ana",))


def test_a_sitting_begins_with_each_opening() -> None:
    """The night between two sittings is nobody's time, and a clock set back counts nothing."""
    record = [
        at(0, 0, is_opening=True),
        at(100, 1),
        at(50, 1, "Ben", is_opening=True),  # the other machine's clock is behind
        at(80, 2, "Ben"),
        at(70, 3, "Ben"),
    ]
    assert [(each.weavers, each.seconds) for each in sittings(record)] == [
        (("Ana",), 100),
        (("Ben",), 30),
    ]


def test_doing_over_belongs_to_the_pace() -> None:
    """Going back and doing a step again is time of the next new step, not steps of its own."""
    record = [
        at(0, 0, is_opening=True),
        at(10, 1),
        at(20, 2),
        at(25, 1),
        at(45, 2),
        at(50, 3),
        at(90, 5),
    ]
    assert step_seconds(STAGE, work(record)) == (10, 10, 30, 20, 20)
    assert step_seconds("sley", work(record)) == ()


def test_no_figure_before_enough_steps() -> None:
    """With one step fewer than enough neither pace nor time left is told."""
    assert an_hour(ENOUGH_STEPS - 1, 100, 600) is None
    assert an_hour(ENOUGH_STEPS, 100, 600) == 600
    assert forecast([30.0] * (ENOUGH_STEPS - 1), 10) is None


def test_no_figure_of_what_no_hand_does() -> None:
    """Half a second a step was pressed on or came from a file, if only in a fifth of the work."""
    assert an_hour(ENOUGH_STEPS, 40, 0.5 * ENOUGH_STEPS) is None
    assert an_hour(ENOUGH_STEPS, 40, 1.0 * ENOUGH_STEPS) == 7200
    assert forecast([0.5] * 4 + [30.0] * 16, 10) is None


def test_a_steady_pace_gives_one_time() -> None:
    """A step every 30 seconds and 100 to go are 50 minutes, with nothing to doubt."""
    assert forecast([30.0] * 40, 100) == (3000, 3000)
    assert forecast([30.0] * 40, 0) == (0, 0)


def test_an_uneven_pace_gives_a_range() -> None:
    """The quickest and the slowest fifth, worked out by hand: 10 and 50 seconds a step."""
    steps = [second for second in (30.0, 50.0, 10.0, 20.0, 40.0) for _ in range(4)]
    assert forecast(steps, 60) == (600, 3000)


@pytest.mark.parametrize("spread", [0.3, 0.8])
def test_the_range_holds_what_it_promises(spread: float) -> None:
    """Of 400 made-up walks whose steps vary by chance, the true rest lies in at least four of five.

    The steps are log-normal, a common shape of times for a task; from memory, no source.
    """
    held = 0
    for seed in range(400):
        chance = random.Random(seed)
        times = [chance.lognormvariate(3, spread) for _ in range(300)]
        told = forecast(times[:60], 240)
        assert told is not None
        held += told.least <= sum(times[60:]) <= told.most
    assert held >= 320


@st.composite
def records(draw: st.DrawFn) -> list[Moment]:
    """Draw a record of two people who go on, go back, rest, leave off and come again."""
    record, seconds, position = [at(0, 0, is_opening=True)], 0.0, 0
    for _ in range(draw(st.integers(0, 40))):
        seconds += draw(st.sampled_from([1, 20, 299, 301, 5000, -3]))
        move = draw(st.sampled_from([1, 1, 1, 0, -1, -4, 3]))
        confirms = max(0, move)
        position = max(0, position + move)
        record.append(
            at(
                seconds,
                position,
                draw(st.sampled_from(["Ana", "Ben", ""])),
                is_opening=draw(st.integers(0, 9)) == 0,
                is_paused=draw(st.integers(0, 9)) == 0,
                confirms=confirms,
            )
        )
    return record


@untimed
@given(record=records())
def test_every_step_that_stands_is_somebodys(record: Sequence[Moment]) -> None:
    """All parts together are the confirmed steps, each once, and nobody worked longer than time."""
    parts = contributions(WALKED, record)
    numbers = [n for part in parts for first, last in part.runs for n in range(first, last + 1)]
    assert sorted(numbers) == list(range(1, record[-1].position + 1))
    told = sum(part.seconds for part in parts)
    assert told == pytest.approx(sum(each.seconds for each in sittings(record)))
    passed = sum(max(0, b.at - a.at) for a, b in pairwise(record))
    assert told <= passed + 1e-9


@untimed
@given(record=records())
def test_step_times_add_up(record: Sequence[Moment]) -> None:
    """There is one time for each step ever reached, and together they are no more than the work."""
    steps = step_seconds(STAGE, work(record))
    reached = max((each.after.position for each in work(record)), default=0)
    assert len(steps) == reached
    assert sum(steps) <= sum(each.seconds for each in work(record)) + 1e-9


def test_a_step_done_over_is_the_second_persons() -> None:
    """Ben takes Ana's last step away and does it again: it is his."""
    record = [
        at(0, 0, is_opening=True),
        at(1, 1, confirms=1),
        at(2, 2, confirms=1),
        at(3, 2, "Ben", is_opening=True),
        at(4, 1, "Ben"),
        at(5, 2, "Ben", confirms=1),
    ]
    assert owners(STAGE, record) == ["Ana", "Ben"]


def test_a_reversed_going_back_changes_nobodys_steps() -> None:
    """Ben goes far back and undoes it, one step or many: all stay with those who did them."""
    record = [at(0, 0, is_opening=True)]
    record += [at(n, n, confirms=1) for n in range(1, 9)]
    record += [at(20, 7, "Ben"), at(20, 8, "Ben")]
    record += [at(20, 2, "Ben"), at(21, 8, "Ben"), at(22, 9, "Ben", confirms=1)]
    assert owners(STAGE, record) == ["Ana"] * 8 + ["Ben"]
    assert [(part.weaver, part.runs) for part in contributions(WALKED, record)] == [
        ("Ana", ((1, 8),)),
        ("Ben", ((9, 9),)),
    ]


def test_a_rest_is_spoken_of_after_so_long_at_work() -> None:
    """With a command each minute the reminder comes after 25 minutes, and after 25 more."""
    reminder = BreakReminder(1500, 0)
    due = []
    for minute in range(1, 61):
        reminder.took(minute * 60, is_paused=False)
        if reminder.is_due(minute * 60):
            due.append(minute)
    assert due == [25, 50]


@pytest.mark.parametrize(
    ("rest_seconds", "is_said", "due"),
    [
        (PAUSE_SECONDS, True, 20 + 2 + 25),
        (PAUSE_SECONDS - 60, True, 25),
        (360, False, 20 + 6 + 25),
        (240, False, 25),
    ],
)
def test_a_real_rest_starts_the_time_anew(rest_seconds: float, is_said: bool, due: int) -> None:  # noqa: FBT001 - a parameter of the table
    """A rest that was asked for, or a long gap, begins the 25 minutes afresh; a short one not."""
    reminder, second, told = BreakReminder(1500, 0), 0.0, 0.0
    while not told:
        second += 60
        if second == 20 * 60:
            reminder.took(second, is_paused=is_said)
            second += rest_seconds
        reminder.took(second, is_paused=False)
        told = second if reminder.is_due(second) else 0
    assert told == due * 60


def test_nobody_is_reminded_while_resting_or_away() -> None:
    """No reminder falls into a pause or an empty room, and 0 minutes means never."""
    resting, away, never = (BreakReminder(after, 0) for after in (600, 600, 0))
    resting.took(590, is_paused=True)
    away.took(290, is_paused=False)
    for second in range(600, 2000, 10):
        assert not resting.is_due(second)
        assert not away.is_due(second)
        assert not never.is_due(second)


def test_a_question_while_resting_ends_no_rest() -> None:
    """Asking where one is, half way through a pause, does not make it two short ones."""
    reminder = BreakReminder(600, 0)
    reminder.took(500, is_paused=True)
    reminder.took(560, is_paused=True)
    reminder.took(620, is_paused=False)
    assert not reminder.is_due(700)
    reminder.took(800, is_paused=False)
    reminder.took(1000, is_paused=False)
    assert not reminder.is_due(1219)
    assert reminder.is_due(1220)


class TimedCommands:
    """A source that gives commands, each when so many more seconds have passed."""

    def __init__(self, commands: Sequence[tuple[str, float]]) -> None:
        self.now = 0.0
        self._commands = commands

    def start(self, inbox: Inbox) -> None:
        for words, seconds in self._commands:
            inbox.put(Input("command", words, "line", is_due=self._passes(seconds)))
        inbox.put(Input("closed", "", "line"))

    def _passes(self, seconds: float) -> Callable[[], bool]:
        def pass_time() -> bool:
            self.now += seconds
            return True

        return pass_time

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Any command may come at any time."""

    def close(self) -> None:
        """Nothing to give back."""


@pytest.mark.parametrize(("rest", "reminders"), [(60, 1), (600, 0)])
def test_a_pause_in_a_sitting_puts_the_reminder_off(
    tmp_path: Path, rest: float, reminders: int
) -> None:
    """16 ends at two minutes each with a pause half way: a real one makes a reminder needless."""
    half = [("done", 120.0)] * 8
    commands = TimedCommands([*half, ("pause", 0), ("resume", rest), *half])
    printed = io.StringIO()
    made = make_stage("thread", [("", [Made((1,))] * 20)])
    with begin(tmp_path) as journal:
        sitting = Sitting(
            [made],
            journal,
            Presenter(Console(printed), Voice(), Style()),
            Options(),
            break_seconds=25 * 60,
            clock=lambda: commands.now,
        )
        sitting.run([commands])
    assert printed.getvalue().count("You have been at work for 25 minutes") == reminders


class Looking(TimedCommands):
    """Notes, whenever it is told of a place, the entries of the file by itself, and of all."""

    def __init__(self, journal: Journal, commands: list[tuple[str, float]]) -> None:
        super().__init__(commands)
        self._journal = journal
        self.seen: list[tuple[int, int]] = []

    def follow(self, mode: Mode, largest_end: int) -> None:
        super().follow(mode, largest_end)
        last = self._journal.last_entry()
        with closing(store.connect_without_log(self._journal.path)) as alone:
            self.seen.append((store.last_number(alone), last.number if last else 0))


def test_everybody_is_told_before_the_log_is_folded_in(tmp_path: Path) -> None:
    """Folding waits for the disk twice; the entry itself is kept before, and folded in after."""
    made = make_stage("thread", [("", [Made((1,))] * 20)])
    with begin(tmp_path) as journal:
        looking = Looking(journal, [("done", 1.0)] * 3)
        presenter = Presenter(Console(io.StringIO()), Voice(), Style())
        Sitting([made], journal, presenter, Options()).run([looking])
    numbers = [number for _, number in looking.seen]
    assert numbers == sorted(numbers)
    assert len(set(numbers)) == 4
    for (_, before), (alone, number) in pairwise(looking.seen):
        assert alone == before
        assert number >= before
