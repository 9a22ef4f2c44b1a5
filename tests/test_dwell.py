"""One switch that is held: the choices read by themselves at a set rate, or press by press.

A switch is pressed and let go on a clock that stands until it is moved; a voice takes its time
for each line on the same clock. The walk is looked at as often as in a sitting.
"""

from __future__ import annotations

import io
import re
from contextlib import closing
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import pytest
from made_stages import straight, trial_journal

from companion.command import Kind
from companion.devices.pedal.gesture import Gesture, SwitchReader, Timing
from companion.devices.pedal.keys import KeyChange, KeyEvent
from companion.devices.speech.voice import Voice
from companion.guide import Options
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.sitting import BEAT_SECONDS
from companion.session.walk import StageWalk
from companion.wording import Style

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

LINE_SECONDS = 1.2
"""What the voice takes for a line."""
BOUND = {Gesture.TAP: Kind.DONE, Gesture.HOLD: Kind.CHOICES}
"""As `companion pedal learn --one-switch` keeps them."""
ROUNDS = 2
OFTEN_ENOUGH = 500
LATE_SECONDS = 2 * BEAT_SECONDS + 0.01
"""By a beat the end of a line is noticed late, and by another the next is begun late."""


class Said(NamedTuple):
    """A line, and from when to when it is said."""

    text: str
    begun: float
    ended: float


class SlowVoice(Voice):
    """Is at a line as long as it would take to say it."""

    def __init__(self) -> None:
        self.now = self.until = 100.0

    @property
    def is_speaking(self) -> bool:
        return self.now < self.until


class Loom:
    """A walk led by one switch, and a clock that both go by."""

    def __init__(self, folder: Path, scan_seconds: float) -> None:
        self.voice = SlowVoice()
        self.said: list[Said] = []
        self._printed = io.StringIO()
        self._reader = SwitchReader(Timing(), hold_keys=["f13"])
        self._journal = trial_journal(folder)
        self.walk = StageWalk(
            straight(),
            self._journal,
            Presenter(Console(self._printed), self.voice, Style()),
            Options(cautions=False, tell_help=False),
            scan_seconds=scan_seconds,
            clock=lambda: self.voice.now,
        )
        self.walk.begin()
        self._listen()
        self.wait(5)

    def close(self) -> None:
        self._journal.close()

    def wait(self, seconds: float) -> None:
        """Let time pass as in a sitting, which looks at the clock every beat."""
        end = self.voice.now + seconds
        while self.voice.now < end:
            self.voice.now = round(self.voice.now + BEAT_SECONDS, 3)
            for act in self._reader.tick(self.voice.now):
                self.walk.take(Input("command", BOUND[act.gesture], "pedal"))
                self._listen()
            self.walk.tick()
            self._listen()

    def press(self, seconds: float = 0.2) -> list[str]:
        """Press the switch for so long, and return what is said in the second after."""
        before = len(self.said)
        self._reader.feed(KeyEvent("f13", KeyChange.PRESS, self.voice.now))
        self.wait(seconds)
        self._reader.feed(KeyEvent("f13", KeyChange.RELEASE, self.voice.now))
        self.wait(0.2)
        return [each.text for each in self.said[before:]]

    def hold(self) -> list[str]:
        return self.press(1.0)

    def _listen(self) -> None:
        lines = self._printed.getvalue().splitlines()
        self._printed.truncate(0)
        self._printed.seek(0)
        for text in lines:
            self.voice.until = max(self.voice.now, self.voice.until) + LINE_SECONDS
            self.said.append(Said(text, self.voice.now, self.voice.until))


@pytest.fixture
def loom(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Loom]:
    with closing(Loom(tmp_path, request.param)) as loom:
        yield loom


def at_rate(*rates: float) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("loom", rates, indirect=True, ids=str)


def stood(said: Sequence[Said]) -> list[float]:
    """Return for how long each line stood, from its end to the next line's beginning."""
    return [later.begun - line.ended for line, later in pairwise(said)]


@at_rate(1.0, 2.0, 5.0)
def test_the_choices_are_read_at_the_rate_that_is_set(
    loom: Loom, request: pytest.FixtureRequest
) -> None:
    """From the end of one to the next; the first stands half as long again; two rounds, no more."""
    rate, state, before = request.node.callspec.params["loom"], loom.walk.state, len(loom.said)
    loom.hold()
    for _ in range(OFTEN_ENOUGH):
        if loom.said[-1].text == "Nothing chosen.":
            break
        loom.wait(1)
    read = loom.said[before:]
    names = [re.sub(r"^Choices\. ", "", each.text) for each in read[:-1]]
    assert read[0].text == "Choices. Done?"
    assert names == ROUNDS * names[: len(names) // ROUNDS]
    first, *others = stood(read)
    assert 1.5 * rate <= first + 0.001 <= 1.5 * rate + LATE_SECONDS
    assert all(rate <= each + 0.001 <= rate + LATE_SECONDS for each in others)
    assert loom.walk.state == state
    loom.wait(60)
    assert loom.said[-1].text == "Nothing chosen."


@at_rate(2.0)
@pytest.mark.parametrize(
    ("number", "answer"), [(0, "End 2: shaft 2"), (1, "This is the first step")]
)
def test_a_press_takes_the_choice_that_stands(loom: Loom, number: int, answer: str) -> None:
    """Late in its time as well, when the next would come a moment after."""
    before = len(loom.said)
    loom.hold()
    while len(loom.said) < before + number + 1:
        loom.wait(BEAT_SECONDS)
    loom.wait(LINE_SECONDS + 1.5)
    assert any(answer in line for line in loom.press())
    after = len(loom.said)
    loom.wait(30)
    assert len(loom.said) == after


@at_rate(0)
def test_press_by_press_a_hold_takes(loom: Loom) -> None:
    """A choice stands as long as it likes; a press moves on, a hold takes, two rounds close."""
    assert loom.hold() == ["Choices. Done?"]
    after = len(loom.said)
    loom.wait(120)
    assert len(loom.said) == after
    assert loom.press() == ["Back?"]
    assert any("This is the first step" in line for line in loom.hold())
    loom.hold()
    state, presses = loom.walk.state, 0
    while loom.press() != ["Nothing chosen."]:
        presses += 1
        loom.wait(0.4)
        assert presses < OFTEN_ENOUGH
    assert loom.walk.state == state


@at_rate(0, 1.5)
def test_a_count_is_given_by_the_switch_alone(loom: Loom, request: pytest.FixtureRequest) -> None:
    """Four ends confirmed, "count" chosen among the choices, and counted up aloud to four."""
    is_stepped = not request.node.callspec.params["loom"]
    for _ in range(4):
        loom.press()
        loom.wait(2)
    _reach(loom, "A number?", is_stepped=is_stepped)
    _reach(loom, "4?", is_stepped=is_stepped, is_open=True)
    assert any(line.text == "4, right." for line in loom.said[-3:])


def _reach(loom: Loom, wanted: str, *, is_stepped: bool, is_open: bool = False) -> None:
    """Have the choices read up to one, and take it."""
    if not is_open:
        loom.hold()
    for _ in range(OFTEN_ENOUGH):
        if loom.said[-1].text.endswith(wanted):
            break
        if is_stepped:
            loom.press()
            loom.wait(0.4)
        else:
            loom.wait(BEAT_SECONDS)
    assert loom.said[-1].text.endswith(wanted)
    (loom.hold if is_stepped else loom.press)()
