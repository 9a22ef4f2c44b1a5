"""Sound from a microphone or a recording, as blocks at 16 kHz that say where some was lost."""

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from companion.base.errors import AudioError
from companion.devices.audio import wav
from companion.devices.audio.clip import FULL_SCALE, SAMPLE_BYTES
from companion.devices.recogniser.interface import SAMPLE_RATE

FILE_SECONDS = 0.032
TRAILING_SECONDS = 2.0
"""Silence after a recording, so that its last word is over."""


class Block(NamedTuple):
    """A piece of sound."""

    pcm16: bytes
    """Mono at 16 kHz; empty where nothing came for a moment."""
    is_after_gap: bool = False
    """Whether some sound before it was lost."""


class Microphone(Protocol):
    """Where sound comes from; one thread takes its blocks, any thread may close it."""

    @property
    def is_live(self) -> bool:
        """Whether it keeps the clock's time; a recording does not."""

    def blocks(self) -> Iterator[Block]:
        """Yield sound as it comes, until the recording ends or the microphone is closed."""

    def skip(self) -> None:
        """Drop what has come and was not taken yet: nobody listened to it in time."""

    def close(self) -> None:
        """End `blocks`; doing it twice does no harm."""


class FileMicrophone:
    """A 16-bit WAV file of any rate, given as fast as it is taken; else AudioError."""

    is_live = False

    def __init__(self, path: Path) -> None:
        self._clip = wav.read(path)
        self._is_closed = False

    def blocks(self) -> Iterator[Block]:
        """Yield the recording and some silence after it."""
        resampler = Resampler(self._clip.rate)
        size = SAMPLE_BYTES * max(1, round(FILE_SECONDS * self._clip.rate))
        after = bytes(SAMPLE_BYTES * round(TRAILING_SECONDS * self._clip.rate))
        sound = self._clip.pcm + after
        for at in range(0, len(sound), size):
            if self._is_closed:
                return
            yield Block(resampler.resampled(sound[at : at + size]))

    def skip(self) -> None:
        """Drop nothing: a recording waits."""

    def close(self) -> None:
        """End the recording early."""
        self._is_closed = True


class Resampler:
    """Brings mono sound to 16 kHz without a seam; AudioError where its package is missing."""

    def __init__(self, rate: int) -> None:
        self._stream: Any = None
        if rate == SAMPLE_RATE:
            return
        try:
            soxr = import_module("soxr")
        except ImportError:
            raise AudioError(
                f"The sound comes at {rate} samples a second, and the package soxr, which brings "
                'it to 16000, is missing. Install it with `pip install "companion[hearing]"`.'
            ) from None
        # Its 16-bit form adds noise of its own, another at every run.
        self._stream = soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="float32")

    def resampled(self, pcm16: bytes) -> bytes:
        """Return what the next piece of the stream comes to."""
        if self._stream is None:
            return pcm16
        import numpy as np  # noqa: PLC0415 - not on the way to the first word

        samples = np.frombuffer(pcm16, dtype="<i2").astype(np.float32)
        resampled = np.round(self._stream.resample_chunk(samples))
        return bytes(np.clip(resampled, -FULL_SCALE, FULL_SCALE).astype("<i2").tobytes())
