"""Working stand-ins for what hears: a microphone, a detector and a recogniser, with levers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.base.errors import AudioError, ModelError
from companion.devices.audio.devices import Device
from companion.devices.audio.microphone import Block
from companion.devices.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.devices.audio.capture import Take

RATE = 16_000
FRAME = 512
HISS = 8
"""Amplitude of the room."""


def recognise(recogniser: Recogniser, pcm16: bytes) -> Heard:
    """Recognise one whole isolated sound: 16 kHz, 16 bit, one channel."""
    recogniser.begin()
    recogniser.feed(pcm16)
    return recogniser.finish(pcm16)


class FakeClock:
    """Seconds that pass when told."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now

    def advance(self, seconds: float) -> None:
        self.now += seconds


class FakeMicrophoneSystem:
    """A machine with one microphone that can be pulled out, and put back in."""

    def __init__(self, *, rate: int = RATE, channels: int = 1) -> None:
        self.rate = rate
        self.channels = channels
        self.is_gone = False
        self.refuses_mono = False
        """Lever: take all channels or none."""
        self.open: list[FakeInput] = []
        self.opened = 0
        self.refreshes = 0

    def inputs(self) -> list[Device]:
        if self.is_gone:
            return []
        return [Device(0, "Fake mic", "Fake", self.channels, 0, self.rate, is_default=True)]

    def open_input(
        self, device: Device, channels: int, latency_seconds: float, take: Take
    ) -> FakeInput:
        assert latency_seconds > 0
        if self.refuses_mono and channels == 1:
            raise AudioError(f"The microphone {device.name} cannot be used: Invalid channels")
        self.opened += 1
        return FakeInput(self, take)

    def refresh(self) -> None:
        self.refreshes += 1

    def sound(self, pcm16: bytes, *, is_after_gap: bool = False) -> None:
        """Let samples come in, as the audio callback does."""
        for stream in self.open:
            stream.take(pcm16, is_after_gap)


class FakeInput:
    """A stream of that microphone."""

    def __init__(self, system: FakeMicrophoneSystem, take: Take) -> None:
        self.take = take
        self._system = system

    def start(self) -> None:
        self._system.open.append(self)

    def stop(self) -> None:
        self._system.open.remove(self)

    def close(self) -> None:
        """Nothing is left to do."""


class FakeMicrophone:
    """Gives blocks prepared beforehand, as fast as they are taken."""

    def __init__(self, blocks: Iterable[Block], *, is_live: bool = False) -> None:
        self.is_live = is_live
        self.skipped = 0
        self.is_closed = False
        self._blocks = blocks

    def blocks(self) -> Iterator[Block]:
        for block in self._blocks:
            if self.is_closed:
                return
            yield block

    def skip(self) -> None:
        self.skipped += 1

    def close(self) -> None:
        self.is_closed = True


def level_activity(frame: bytes) -> float:
    """Take everything loud for a voice."""
    loudest = int(np.abs(np.frombuffer(frame, dtype="<i2").astype(int)).max())
    return 0.95 if loudest > 20 * HISS else 0.02


class FakeRecogniser(Recogniser):
    """Knows a sound by its pitch: `words` says what each hundred of hertz stands for."""

    name = "fake"

    def __init__(self, words: dict[int, str]) -> None:
        self._words = words
        self.vocabulary = Vocabulary(frozenset())
        self.expected: list[Vocabulary] = []
        self.is_broken = False
        """Lever: break down on every sound."""
        self.lacks: tuple[str, ...] = ()

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:  # noqa: ARG002 - the interface
        return self.lacks

    def expect(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.expected.append(vocabulary)

    def finish(self, sound: bytes) -> Heard:
        if self.is_broken:
            raise ModelError("The fake recogniser is broken. Mend it.")
        samples = np.frombuffer(sound, dtype="<i2")
        spectrum = np.abs(np.fft.rfft(samples))
        pitch = round(float(np.argmax(spectrum)) * RATE / len(samples) / 100) * 100
        words = self._words.get(pitch, "")
        if self.vocabulary.allows(words):
            return Heard(words)
        return Heard("", Refusal.UNKNOWN, words)


def room(seconds: float) -> bytes:
    """Return a quiet room."""
    hiss = np.random.default_rng(0).normal(0, HISS, round(seconds * RATE))
    return hiss.astype("<i2").tobytes()


def hum(hertz: int, seconds: float = 0.4) -> bytes:
    """Return a loud steady sound that stands for a word."""
    times = np.arange(round(seconds * RATE)) / RATE
    return (8000 * np.sin(2 * np.pi * hertz * times)).astype("<i2").tobytes()


def said(*hertz: int, pause: float = 1.2) -> bytes:
    """Return words said one after another with a pause after each."""
    return room(1.0) + b"".join(hum(each) + room(pause) for each in hertz)


def blocks(pcm16: bytes) -> list[Block]:
    """Cut sound into blocks of one frame each."""
    size = 2 * FRAME
    return [Block(pcm16[at : at + size]) for at in range(0, len(pcm16), size)]
