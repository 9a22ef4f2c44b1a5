"""Weaving pick by pick, from the first pick to the last.

Brooks: C. P. Brooks, *Cotton Manufacturing* (pages as at bitlit.ru). The plans of the walks are our
own, and the lengths are computed by hand.
"""

from __future__ import annotations

import io
import itertools
import re
import time
from contextlib import closing
from fractions import Fraction
from queue import Queue
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run, start, terminal
from hypothesis import given
from hypothesis import strategies as st
from made_stages import trial_journal
from small_plans import make_plan, straight, untimed

from companion.command import Command, Kind
from companion.command.size import ONE_END, StepSize
from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.table import keyboard_bindings
from companion.devices.pedal.typed import Keyboard
from companion.devices.speech.voice import Voice
from companion.guide import Mode, Options, Say, events, step
from companion.guide import start as begin
from companion.guide.messages import StepCall
from companion.guide.place import expected_so_far
from companion.job import stage, threading_of, whole_job
from companion.job.contents import ClothMark, Pick, Unwoven
from companion.loom.compute import compute, read_and_compute
from companion.loom.drawdown import drawdown
from companion.out.report import report
from companion.plan.draft.draft import Draft
from companion.session.inputs import DeviceSource, Input
from companion.session.presenter import Console, Presenter
from companion.session.walk import StageWalk
from companion.wording import Style, render
from companion.wording.weaving import length

if TYPE_CHECKING:
    from pathlib import Path

    from companion.command.size import Detail
    from companion.devices.pedal.keys import Emit
    from companion.job import Stage
    from companion.record import Journal
    from companion.session.inputs import Inbox

Moves = list[tuple[int, ...]]
TWO_SCARVES = """\
title = "Two scarves"
[warp]
ends = 8
ends_per_inch = 10
[reed]
dents_per_inch = 10
width = 24
[loom]
shafts = 4
kind = "jack"
[[threading]]
ends = "1 to 4"
times = "fill"
[tie_up]
shed = "rising"
treadles = ["1-3", "2-4", "1-2", "3-4"]
[[treadling]]
name = "border"
picks = "1-2"
times = 2
[[treadling]]
name = "twill"
picks = "3, 1+3, 4, 2"
times = 3
[length]
finished = 1
pieces = 2
hem = "1/4"
gap = 1
fringe = 2
take_up = "10 %"
shrinkage = "10 %"
loom_waste = 20
[weft]
picks_per_inch = 10
measure_every = "1/2"
[[yarn]]
use = "weft"
colour = "white"
size = "8/2 cotton"
share = 3
[[yarn]]
use = "weft"
colour = "blue"
size = "8/2 cotton"
"""
PIECE = [(1,), (2,), (1,), (2,), *[(3,), (1, 3), (4,), (2,)] * 3]


@pytest.fixture
def scarves(tmp_path: Path) -> Path:
    """A plan of two pieces of 16 picks in two wefts."""
    path = tmp_path / "scarves.toml"
    path.write_text(TWO_SCARVES)
    return path


def heard(walked: Stage, size: StepSize, detail: Detail) -> list[str]:
    """Return the callouts of a stage that is walked as planned, as they are printed."""
    options = Options(cautions=False, size=size, detail=detail)
    state, effects = begin(walked, options)
    said = [each.message for each in effects if isinstance(each, Say)]
    while state.mode is not Mode.FINISHED:
        is_due = state.mode is Mode.COUNTING
        told = Command(Kind.COUNT, expected_so_far(state, walked)) if is_due else Command(Kind.DONE)
        outcome = step(state, told, walked)
        assert outcome.is_accepted
        state = outcome.state
        said += [each.message for each in outcome.effects if isinstance(each, Say)]
    return [render(each, Style()).text for each in said if isinstance(each, StepCall)]


def taken_apart(callout: str) -> Moves:
    """Return what is pressed or raised, pick by pick, by the grammar of the callouts alone.

    A note on the cloth is a sentence that begins with "This", "Then" or "Now".
    """
    bare = re.split(r"(?<=\.) (?=This|Then|Now)", callout)[0]
    moves = re.search(r"(?:treadle|shaft)s? (\d+(?:(?:, then|,|;| and) \d+)*)", bare)
    assert moves is not None, callout
    numbers = moves[1]
    if " and " in numbers and " then " not in numbers:
        return [tuple(map(int, re.findall(r"\d+", numbers)))]
    parted = r", then " if " then " in numbers else r", |; "
    return [tuple(map(int, re.findall(r"\d+", part))) for part in re.split(parted, numbers)]


def woven_by_ear(walked: Stage, size: StepSize = ONE_END) -> Moves:
    """Return what is pressed or raised in a stage, from its callouts alone."""
    return [move for callout in heard(walked, size, "all") for move in taken_apart(callout)]


def test_a_lift_plan_is_called_as_the_handbook_pegs_it() -> None:
    """Brooks, p. 69, double cloth: pegged 1; 1, 2, 4; 2; 1, 2, 3, and the shuttle passes over
    three ends out of four, then under three out of four."""
    pegged = ((1,), (1, 2, 4), (2,), (1, 2, 3))
    walked = stage(compute(make_plan((1, 3, 2, 4) * 2, drafted={"lifts": pegged})), "weave")
    called = woven_by_ear(walked)
    assert called == list(pegged)
    cloth = drawdown(Draft((1, 3, 2, 4) * 2, ("",) * 8, (), lifts=tuple(called)))
    assert [len(cloth.ends_up(pick)) for pick in range(1, 5)] == [2, 6, 2, 6]


def test_a_treadling_is_called_so_that_the_handbook_s_healds_rise() -> None:
    """Brooks, "Drafts", figure 37, and p. 59: heald 1 of the honeycomb is up at picks 2 to 6 and 8
    of eight; treadle 1 lifts it and treadle 2 nothing that is looked at there."""
    ties = ((1,), (5,))
    picks = ((2,), (1,), (1,), (1,), (1,), (1,), (2,), (1,))
    drafted = {"treadles": ties, "picks": picks}
    plan = make_plan((1, 2, 3, 4, 5, 4, 3, 2), drafted=drafted, loom={"shafts": 5})
    walked = stage(compute(plan), "weave")
    up = [at for at, press in enumerate(woven_by_ear(walked), 1) if 1 in ties[press[0] - 1]]
    assert up == [2, 3, 4, 5, 6, 8]


SIZES = (*(StepSize("ends", ends) for ends in (1, 2, 3, 4, 7)), StepSize("unit"), StepSize("group"))
PRESS = st.lists(st.integers(1, 4), min_size=1, max_size=2, unique=True).map(sorted).map(tuple)


@untimed
@given(st.lists(PRESS, min_size=1, max_size=40), st.sampled_from(SIZES))
def test_every_pick_is_called_once_and_in_order(picks: Moves, size: StepSize) -> None:
    """Whatever the step, taken apart by ear the callouts are the treadling."""
    drafted = {"treadles": ((1,), (2,), (3,), (4,)), "picks": tuple(picks)}
    walked = stage(compute(make_plan(straight(8), drafted=drafted)), "weave")
    assert woven_by_ear(walked, size) == list(picks)


def test_groups_are_whole_repeats(scarves: Path) -> None:
    """A part ends its group; a short repeat is counted with its neighbours, up to 24 picks."""
    walked = stage(read_and_compute(scarves)[1], "weave")
    assert [group.expected for group in walked.groups] == [4, 12, 4, 12]
    towels = stage(read_and_compute(PLANS / "striped-towels.toml")[1], "weave")
    sizes = [group.expected for group in towels.groups]
    assert (sizes[:3], sum(sizes)) == ([24, 24, 24], 4 * 384)
    assert set(sizes) == {24}


def test_a_treadling_that_is_but_a_repeat_is_woven_until_the_piece_is_long_enough() -> None:
    """Computed by hand: 10 inches at 10 picks to the inch are 100 picks, 25 times through four."""
    lengths = {"finished": 10, "take_up": "0 %", "shrinkage": "0 %", "loom_waste": 0}
    drafted = {"treadles": ((1,), (2,), (3,), (4,)), "picks": ((1,), (2,), (3,), (4,))}
    plan = make_plan(straight(8), drafted=drafted, length=lengths, weft={"picks_per_inch": 10})
    walked = stage(compute(plan), "weave")
    assert len(walked.steps) == 100
    (mark,) = walked.steps[-1].notes
    assert mark == ClothMark("piece", Fraction(10), Fraction(10))


def test_a_piece_ends_with_the_unit_that_makes_it_long_enough() -> None:
    """Computed by hand: 150 / 0.94 cm at 8 picks to the cm are 1277 picks, 213 times six 1278.

    The treadling holds the six 50 times: five times through it would be 187.5 cm, for which the
    warp of 275 cm is 22.8 cm too short.
    """
    plan = read_and_compute(PLANS / "point-runner.toml")[1]
    walked = stage(plan, "weave")
    assert plan.yarns is not None
    assert round(float(plan.yarns.length.cloth_each) * 2.54 * 8) == 1277
    assert len(walked.steps) == 1278 == 213 * 6
    assert [told for told in report(plan) if "too short" in told] == []
    last = [each.content for each in walked.steps[-6:]]
    presses = [each.treadles for each in last if isinstance(each, Pick)]
    assert presses == [(1,), (2,), (3,), (4,), (3,), (2,)]


def test_a_treadling_too_long_for_the_warp_is_told_in_the_report() -> None:
    """Computed by hand: 120 picks at 10 to the inch are 12 inches, 2 more than the warp holds."""
    lengths = {
        "finished": 10, "take_up": "0 %", "shrinkage": "0 %", "loom_waste": 8, "wind_step": 1,
    }  # fmt: skip
    drafted = {"treadles": ((1,), (2,), (3,), (4,)), "picks": ((1,), (2,), (3,), (4,)) * 30}
    plan = make_plan(straight(8), drafted=drafted, length=lengths, weft={"picks_per_inch": 10})
    (told,) = (line for line in report(compute(plan)) if "too short" in line)
    assert "120 picks, 12 in off the loom in place of 10 in, and the warp is 2 in too short" in told


def test_lengths_are_told_where_they_are_reached(scarves: Path) -> None:
    """Computed by hand: 1/4 inch of hem is 0.25 / 0.9 x 10 = 2.8 picks, so the third ends it; the
    whole of 1.5 / 0.9 = 1 2/3 inches less a hem is 13.9, so the second begins after the
    thirteenth; half inches are at 5, 10 and 15. Pieces are 2 + 1 + 2 inches apart."""
    walked = stage(read_and_compute(scarves)[1], "weave")
    notes = {each.number: each.notes for each in walked.steps if each.notes}
    assert {
        number: note.what
        for number, (note, *_) in notes.items()
        if isinstance(note, ClothMark) and number <= 16
    } == {
        3: "hem",
        5: "measure",
        10: "measure",
        13: "second-hem",
        15: "measure",
        16: "piece",
    }
    assert notes[16][1] == Unwoven(Fraction(5))
    assert notes[32][1] == Unwoven(Fraction(2))


@pytest.mark.parametrize(
    ("inches", "units", "told"),
    [
        (Fraction(1, 4), "inch", "a quarter of an inch"),
        (Fraction(1, 2), "inch", "half an inch"),
        (Fraction(1), "inch", "1 inch"),
        (Fraction(33, 20), "inch", "1 and three quarter inches"),
        (Fraction(100, 254), "metric", "1 centimetre"),
        (Fraction(380, 254), "metric", "4 centimetres"),
        (Fraction(350, 254), "metric", "3 and a half centimetres"),
    ],
)
def test_lengths_are_said_as_on_a_tape(inches: Fraction, units: str, told: str) -> None:
    """To the quarter inch or the half centimetre."""
    plan = make_plan(straight(8), units=units)
    assert length(inches, compute(plan)) == told


def test_a_fault_in_the_cloth_is_mended_in_the_threading(scarves: Path) -> None:
    """From the weaving, too, any group of the threading can be felt; it is no stage of the job."""
    dressing = read_and_compute(scarves)[1]
    walked = stage(dressing, "weave")
    assert threading_of(walked).name == "thread-and-sley"
    assert "weave" not in whole_job(dressing)
    state, _ = begin(walked, Options(cautions=False))
    outcome = step(state, Command(Kind.LOOK, 1), walked)
    assert outcome.is_accepted
    assert isinstance(outcome.events[0], events.LookedAt)


def test_it_is_walked_killed_and_gone_on_with(scarves: Path, tmp_path: Path) -> None:
    """Through the front door: a wrong count, a pick taken out again, a crash, and to the end."""
    process = start(tmp_path, "weave", scarves, "--text", "--lines")
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("done\ndone\ndone\nback\n")
    process.stdin.flush()
    for line in process.stdout:
        if line.startswith("Back one step."):
            break
    again = next(process.stdout)
    assert again.startswith("Border, unit 2. Pick 3: treadle 1, white.")
    process.kill()
    process.communicate()
    words = ["done", "done", "5", "4", *["done"] * 12, "12", *["done"] * 4, "4"]
    walked = run(tmp_path, "resume", "--text", lines=[*words, *["done"] * 12, "12"])
    assert "Weaving" in walked.stdout
    assert "5, but 4 are planned. Count once more." in walked.stdout
    assert "Weaving is complete: 32 picks in 4 groups." in walked.stdout
    called = re.findall(r"Pick (\d+): (.*)", walked.stdout)
    presses = [tuple(map(int, re.findall(r"\d+", told.split(",")[0]))) for _, told in called]
    assert [int(number) for number, _ in called][-30:] == list(range(3, 33))
    assert presses[-30:] == (PIECE * 2)[2:]
    blue = [int(number) for number, told in called if ", blue" in told]
    assert blue == [*range(4, 17, 4), *range(20, 33, 4)]
    assert "weaving, finished" in run(tmp_path, "sessions").stdout


@pytest.mark.long
def test_enter_alone_weaves_it(scarves: Path, tmp_path: Path) -> None:
    """In a terminal, from the first pick to the last: a hand switch is enough, counts included."""
    arguments = ("weave", scarves, "--text", "--step", "group")
    with closing(terminal(tmp_path, *arguments)) as walk:
        walk.expect_exact("Picks 1 to 3: treadles 1, 2, 1, white.")
        time.sleep(1.0)
        while True:
            time.sleep(0.6)
            walk.send("\r")
            told = [r"[Pp]icks? \d[^\n]*\n", "How many", "if that is your count", "is complete: 32"]
            asked = walk.expect(told)
            if asked == 3:
                break
            time.sleep(1.5 if asked == 2 else 0)
        walk.expect_exact("Not counted: 4 groups.")
        walk.send("q")


def test_the_place_tells_the_weft_of_a_pick_once(scarves: Path) -> None:
    """With what is pressed, and not once more with the shafts above the shuttle."""
    walked = stage(read_and_compute(scarves)[1], "weave")
    state = step(begin(walked, Options())[0], Command(Kind.DONE), walked).state
    (place,) = step(state, Command(Kind.WHERE), walked).effects
    assert isinstance(place, Say)
    told = render(place.message, Style()).text
    assert told.count(walked.steps[1].colour.lower()) == 1
    assert "above the shuttle" in told


def test_a_foot_pedal_is_refused_in_one_line(scarves: Path, tmp_path: Path) -> None:
    """It says why, and what serves instead."""
    refused = run(tmp_path, "weave", scarves, "--pedal")
    assert refused.returncode == 2
    assert refused.stderr == (
        "--pedal: a foot pedal is not used for weaving, since your feet are on the treadles. "
        "Use a hand switch, your voice, an earbud's button, or keep going.\n"
    )


@pytest.mark.parametrize(("kind", "confirmed"), [("jack", 0), ("table", 1)])
def test_a_foot_pedal_that_is_pressed_confirms_nothing(
    tmp_path: Path, kind: str, confirmed: int
) -> None:
    """Only where shafts are raised by hand are the feet free."""
    loom = {"kind": kind, "shafts": 4}
    plan = make_plan(straight(8), drafted={"lifts": ((1,), (2,))}, loom=loom)
    walked, journal = woven_by_pedal(tmp_path, stage(compute(plan), "weave"))
    journal.close()
    assert walked.state.confirmed == confirmed


@pytest.mark.parametrize(("own", "source"), [((), "pedal"), (("page down",), "key")])
def test_page_down_may_be_a_foot_until_it_is_bound(own: tuple[str, ...], source: str) -> None:
    """Page-turning pedals send it, so it counts as a foot's; Enter and a key of her own do not."""
    inbox: Inbox = Queue()
    DeviceSource(_Typing("page down", "enter", own=own), "key").start(inbox)
    given = [inbox.get(timeout=30) for _ in range(3)]
    assert [(each.text, each.source) for each in given[:2]] == [("done", source), ("done", "key")]


class _Typing:
    """A keyboard at which some keys are pressed, far apart."""

    name = "key"

    def __init__(self, *keys: str, own: tuple[str, ...]) -> None:
        bindings = keyboard_bindings({})
        self._keyboard = Keyboard(bindings, Timing(), 0.3, has_letters=True, own=own)
        self._keys = keys

    def run(self, emit: Emit) -> None:
        for at, key in enumerate(self._keys, start=1):
            for output in self._keyboard.press(key, 10.0 * at) + self._keyboard.tick(10.0 * at + 5):
                emit(output.text)

    def stop(self) -> None:
        """Nothing is held."""


def woven_by_pedal(folder: Path, walked: Stage) -> tuple[StageWalk, Journal]:
    """Press a foot pedal once, well after the opening."""
    presenter = Presenter(Console(io.StringIO()), Voice(), Style())
    journal = trial_journal(folder)
    unhurried = map(float, itertools.count(step=10)).__next__
    walk = StageWalk(walked, journal, presenter, Options(), clock=unhurried)
    walk.begin()
    walk.take(Input("command", "done", "pedal"))
    return walk, journal


def test_a_plan_without_a_treadling_is_refused_in_one_line(tmp_path: Path) -> None:
    """What is missing, and how it is written."""
    path = tmp_path / "bare.toml"
    path.write_text(TWO_SCARVES.partition("[tie_up]")[0])
    refused = run(tmp_path, "weave", path)
    assert refused.returncode == 2
    assert refused.stderr.startswith("The plan has no treadling to weave by: expected a tie-up")
    assert refused.stderr.count("\n") == 1
