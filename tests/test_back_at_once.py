"""Back, repeat and done while a callout sounds: it is cut at once, and the new one is whole."""

from __future__ import annotations

import io
import itertools
import threading
import time
from typing import TYPE_CHECKING

import numpy as np
import pytest
from fakes import FakeSoundSystem
from made_stages import straight, trial_journal

from companion.devices.audio.clip import Clip
from companion.devices.audio.feed import RATE
from companion.devices.audio.playback import DevicePlayback
from companion.devices.speech.live_voice import LiveVoice
from companion.guide import Options
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.walk import StageWalk
from companion.wording import Style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from companion.devices.speech.voice import Item

LINE_FRAMES = RATE
BLOCK_FRAMES = RATE // 100


class Levels:
    """Gives each line as a second of one level, by which it is known in what is heard."""

    def __init__(self) -> None:
        self._levels: dict[str, int] = {}
        self._lock = threading.Lock()

    def check(self) -> None:
        """It always can."""

    def clip(self, text: str, words_per_minute: int) -> Clip:  # noqa: ARG002 - the protocol's
        return Clip(np.full(LINE_FRAMES, self.level(text), "<i2").tobytes(), RATE)

    def level(self, text: str) -> int:
        with self._lock:
            return self._levels.setdefault(text, 500 * (len(self._levels) + 1))

    def close(self) -> None:
        """Nothing to let go."""


class NotingVoice(LiveVoice):
    """Notes the lines of what it plays last."""

    played: tuple[str, ...] = ()

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        self.played = tuple(item for item in items if isinstance(item, str))
        super().play(items, interrupt=interrupt)


class Loom:
    """A walk with a fake loudspeaker."""

    def __init__(self, folder: Path) -> None:
        self.system = FakeSoundSystem(rate=RATE)
        self.lines = Levels()
        playback = DevicePlayback(
            lambda: self.system, "", pytest.fail, keep_awake_seconds=60, wake_seconds=0
        )
        playback.wait_tried(10)
        self.voice = NotingVoice(self.lines, playback, 160, pytest.fail)
        presenter = Presenter(Console(io.StringIO()), self.voice, Style(), has_tones=False)
        self.journal = trial_journal(folder)
        options = Options(cautions=False, tell_help=False)
        unhurried = map(float, itertools.count(step=10)).__next__
        self.walk = StageWalk(straight(), self.journal, presenter, options, clock=unhurried)

    def give(self, text: str) -> None:
        self.walk.take(Input("command", text, "key"))

    @property
    def heard(self) -> NDArray[np.int16]:
        return np.frombuffer(self.system.heard, "<i2")

    def until(self, is_true: Callable[[], bool]) -> None:
        end = time.monotonic() + 20
        while not is_true() and time.monotonic() < end:
            time.sleep(0.005)
        assert is_true()

    def close(self) -> None:
        self.voice.close()
        self.journal.close()


@pytest.fixture
def loom(tmp_path: Path) -> Iterator[Loom]:
    loom = Loom(tmp_path)
    yield loom
    loom.close()


def runs(samples: NDArray[np.int16]) -> list[tuple[int, int]]:
    """Return the levels that stand for more than a block, and for how many frames."""
    edges = np.flatnonzero(np.diff(samples)) + 1
    parts = np.split(samples, edges)
    return [(int(part[0]), len(part)) for part in parts if len(part) > BLOCK_FRAMES and part[0] > 0]


@pytest.mark.parametrize("command", ["back", "repeat", "done", "where am I"])
def test_a_command_cuts_what_is_being_said(loom: Loom, command: str) -> None:
    """Once it is taken, two blocks more at most are heard of the line, then the new ones whole."""
    loom.walk.begin()
    loom.give("done")
    sounding = loom.lines.level(loom.voice.played[-1])
    loom.until(lambda: sounding in loom.heard[-BLOCK_FRAMES:])
    loom.give(command)
    taken = len(loom.heard)
    loom.until(lambda: not loom.voice.is_speaking)
    expected = [(loom.lines.level(text), LINE_FRAMES) for text in loom.voice.played]
    after = runs(loom.heard[taken - BLOCK_FRAMES :])
    if len(after) > len(expected):
        level, rest = after.pop(0)
        assert level == sounding
        assert rest <= 3 * BLOCK_FRAMES
    assert after[1:] == expected[1:]
    # The first may have begun before `taken` was looked at.
    assert after[0][0] == expected[0][0]
    assert expected[0] in runs(loom.heard)
