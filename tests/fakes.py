"""Working stand-ins for devices, small and by hand, with named levers for what can go wrong."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import numpy as np

from companion.base.errors import AudioError, SpeechError
from companion.devices.audio.clip import SAMPLE_BYTES, Clip, from_samples
from companion.devices.audio.devices import Device

if TYPE_CHECKING:
    from companion.devices.audio.devices import Fill

RATE = 22050


def hum(seconds: float, *, hertz: float = 440.0, rate: int = RATE, peak: float = 0.5) -> Clip:
    """Return a steady sound."""
    times = np.arange(round(seconds * rate)) / rate
    return from_samples(peak * np.sin(2 * np.pi * hertz * times), rate)


class FakePlayback:
    """Records what was queued; sound lasts until `hear` is called."""

    def __init__(self) -> None:
        self.queued: list[tuple[float, Clip]] = []
        """When each clip was queued, and the clip."""
        self._cut_at = 0
        self.cancels = 0
        self.is_busy = False
        self.is_closed = False
        self._is_gone = False
        self.arrived = threading.Condition()

    @property
    def clips(self) -> list[Clip]:
        """The clips queued, without the silences between them."""
        return [clip for _, clip in self.queued if clip.peak]

    @property
    def standing(self) -> list[Clip]:
        """The clips queued since the last cancel, without the silences between them."""
        return [clip for _, clip in self.queued[self._cut_at :] if clip.peak]

    def vanish(self) -> None:
        """Be a loudspeaker that is not there: what is queued is lost."""
        self._is_gone = True
        self.is_busy = False

    def come_back(self) -> None:
        """Be there again."""
        self._is_gone = False

    def hear(self) -> None:
        """Let all that was queued reach the ear."""
        self.is_busy = False

    def queue(self, clip: Clip) -> None:
        if self._is_gone:
            return
        with self.arrived:
            self.queued.append((time.monotonic(), clip))
            self.is_busy = True
            self.arrived.notify_all()

    def wait_for_clips(self, number: int, timeout: float = 5.0) -> bool:
        """Wait until so many clips were queued."""
        with self.arrived:
            return self.arrived.wait_for(lambda: len(self.clips) >= number, timeout)

    def cancel(self) -> None:
        self.cancels += 1
        self._cut_at = len(self.queued)
        self.is_busy = False

    def wait(self, timeout: float) -> bool:
        end = time.monotonic() + timeout
        while self.is_busy and time.monotonic() < end:
            time.sleep(0.001)
        return not self.is_busy

    def close(self) -> None:
        self.is_closed = True


class FakeMaker:
    """Makes a hum for each text, as long as the text; can be held up, or fail."""

    def __init__(self) -> None:
        self.voice = ""
        self.asked: list[str] = []
        self.made: list[tuple[str, int]] = []
        self.is_closed = False
        self._may_make = threading.Event()
        self._may_make.set()
        self._is_failing = False

    def hold(self) -> None:
        """Make nothing until `release`."""
        self._may_make.clear()

    def release(self) -> None:
        """Go on."""
        self._may_make.set()

    def fail(self, *, is_failing: bool = True) -> None:
        """Be unable to speak from now on, or able again."""
        self._is_failing = is_failing

    def check(self) -> str:
        return "fake engine"

    def make(self, text: str, words_per_minute: int) -> Clip:
        self.asked.append(text)
        self._may_make.wait(5.0)
        if self._is_failing:
            raise SpeechError("No speech: the fake engine fails. Mend it")
        self.made.append((text, words_per_minute))
        return hum(len(text) / 100)

    def clip(self, text: str, words_per_minute: int) -> Clip:
        """Serve where clips, not a maker, are wanted."""
        return self.make(text, words_per_minute)

    def close(self) -> None:
        self.is_closed = True


class FakeSpeaker:
    """A loudspeaker that takes a block each 10 ms while started, and keeps what it took."""

    latency_seconds = 0.02

    def __init__(self, system: FakeSoundSystem, rate: int, fill: Fill) -> None:
        self.rate = rate
        self._system = system
        self._fill = fill
        self._is_started = False
        self._is_stalled = False
        self._thread: threading.Thread | None = None

    @property
    def is_active(self) -> bool:
        return self._is_started

    def start(self) -> None:
        if self._system.is_gone:
            raise AudioError("The loudspeaker failed: it is not there")
        self._is_started = True
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def stall(self) -> None:
        """Take no more blocks, and look as if all were well."""
        self._is_stalled = True

    def stop(self) -> None:
        self._is_started = False
        if self._thread is not None:
            self._thread.join(1.0)

    def close(self) -> None:
        self.stop()
        self._system.open_streams -= 1

    def _run(self) -> None:
        frames = self.rate // 100
        while self._is_started and not (self._is_stalled or self._system.is_gone):
            self._system.heard += self._fill(frames, int(self._system.is_dry))
            self._system.blocks += 1
            time.sleep(0.01)


class FakeSoundSystem:
    """A machine with one loudspeaker that can refuse a rate, run dry, vanish and come back."""

    def __init__(self, *, rate: int = 48000, refused_rates: tuple[int, ...] = ()) -> None:
        self.is_gone = False
        self.is_dry = False
        """Lever: run dry before each block."""
        self.heard = b""
        self.blocks = 0
        self.refreshes = 0
        self.open_streams = 0
        self.opened: list[FakeSpeaker] = []
        self.latencies: list[float] = []
        self._rate = rate
        self._refused_rates = refused_rates

    def vanish(self) -> None:
        """Pull the plug: no more callbacks, and no error, as it is in life."""
        self.is_gone = True

    def come_back(self) -> None:
        """Put it back in; it is only seen after `refresh`."""
        self.is_gone = False

    def stall(self) -> None:
        """Stop the running stream for good; a new one would run."""
        self.opened[-1].stall()

    def outputs(self) -> list[Device]:
        if self.is_gone:
            return []
        return [Device(0, "Fake speaker", "Fake", 0, 1, self._rate, is_default=True)]

    def open_output(
        self, device: Device, rate: int, latency_seconds: float, fill: Fill
    ) -> FakeSpeaker:
        if rate in self._refused_rates:
            raise AudioError(f"The loudspeaker {device.name} cannot be used: Invalid sample rate")
        self.open_streams += 1
        self.latencies.append(latency_seconds)
        self.opened.append(FakeSpeaker(self, rate, fill))
        return self.opened[-1]

    def refresh(self) -> None:
        self.refreshes += 1


def loud_seconds(pcm: bytes, rate: int) -> float:
    """Return for how long the sound is not digital silence."""
    return int(np.count_nonzero(np.frombuffer(pcm, dtype="<i2"))) / rate


def frames_of(pcm: bytes) -> int:
    """Return how many samples there are."""
    return len(pcm) // SAMPLE_BYTES
