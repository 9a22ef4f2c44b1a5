"""How long our own voice still reaches the microphone after it should have ended.

A wireless loudspeaker sounds later than the machine believes, and a room goes on sounding. A tone
is played and found again in what the microphone hears, by its pitch alone, so that other noise does
not matter (Goertzel, "An algorithm for the evaluation of finite trigonometric series", American
Mathematical Monthly 65 (1958) 34-35).
"""

import numpy as np

from companion.devices.hearing.settings import FRAME_SAMPLES, FRAME_SECONDS
from companion.devices.recogniser.interface import SAMPLE_RATE

LISTEN_SECONDS = 1.2
"""How long to go on listening once the tone should have ended."""
_LEAST_RISE_DECIBELS = 15.0
"""The tone must stand this far above the room to be found at all."""
_OVER_DECIBELS = 9.0
"""The tone has gone when it is this near to the room again (noise is in 199 of 200 frames), ..."""
_FADED_DECIBELS = 30.0
"""... or this far below its loudest, ..."""
_GONE_FRAMES = 3
"""... for so many frames."""
_WAVE = np.exp(-2j * np.pi * np.arange(FRAME_SAMPLES) / SAMPLE_RATE)
_WINDOW = np.hanning(FRAME_SAMPLES)


def tone_level(frame: bytes, hertz: float) -> float:
    """Return how loud one pitch is in a frame, in dB below full scale."""
    samples = np.frombuffer(frame, dtype="<i2") / 32768.0
    share = abs(np.sum(samples * _WINDOW * _WAVE**hertz)) / np.sum(_WINDOW)
    return float(20.0 * np.log10(max(share, 1e-6)))


class TailMeter:
    """Follows one tone, by the pitch it ends with, from the silence before it to that after."""

    def __init__(self, hertz: float) -> None:
        self._hertz = hertz
        self._before: list[float] = []
        self._levels: list[float] = []
        self._ended_at: int | None = None

    def frame(self, pcm16: bytes, *, is_sounding: bool) -> None:
        """Take a frame of 512 samples, and whether our voice is held to be sounding."""
        level = tone_level(pcm16, self._hertz)
        if not self._levels and not is_sounding:
            self._before.append(level)
            return
        if not is_sounding and self._ended_at is None:
            self._ended_at = len(self._levels)
        self._levels.append(level)

    @property
    def is_over(self) -> bool:
        """Whether enough has been heard after the end."""
        if self._ended_at is None:
            return False
        return (len(self._levels) - self._ended_at) * FRAME_SECONDS >= LISTEN_SECONDS

    @property
    def tail_seconds(self) -> float | None:
        """How long the tone was heard after its end; None where it was not heard at all."""
        if self._ended_at is None or not self._before:
            return None
        room, loudest = float(np.median(self._before)), max(self._levels)
        if loudest < room + _LEAST_RISE_DECIBELS:
            return None
        least = max(room + _OVER_DECIBELS, loudest - _FADED_DECIBELS)
        index = self._levels.index(loudest)
        while any(level >= least for level in self._levels[index : index + _GONE_FRAMES]):
            index += 1
        return max(0.0, (index - self._ended_at) * FRAME_SECONDS)
