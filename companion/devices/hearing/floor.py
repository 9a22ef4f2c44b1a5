"""How loud the room is when nobody speaks to us: the noise floor."""

from __future__ import annotations

from collections import deque

WINDOW_SECONDS = 5.0
PERCENTILE = 0.7
"""Seven frames of ten lie below the floor, so that a radio's speech, which comes and goes, is
part of the noise, while single words with pauses between are not."""
LOWEST_DBFS = -65.0
"""Below this no microphone is believed: digital silence must not make every rustle a word."""


HEADROOM_DECIBELS = 15.0
"""The floor stays this far under the loudest part of the weaver's own commands: her own chatting
must not raise it so high that the command after it goes unnoticed."""
_REMEMBERED = 5


class NoiseFloor:
    """The level under which most of the last `frames` frames lie, in dBFS."""

    def __init__(self, frames: int) -> None:
        self._levels: deque[float] = deque(maxlen=frames)
        self._peaks: deque[float] = deque(maxlen=_REMEMBERED)
        self._dbfs = LOWEST_DBFS

    @property
    def dbfs(self) -> float:
        """The floor now."""
        if not self._peaks:
            return self._dbfs
        voice = sum(self._peaks) / len(self._peaks)
        return max(LOWEST_DBFS, min(self._dbfs, voice - HEADROOM_DECIBELS))

    def know_voice(self, peak_dbfs: float) -> None:
        """Take the loudest frame of an accepted command: so loud does the weaver speak."""
        self._peaks.append(peak_dbfs)

    def add(self, *levels_dbfs: float) -> None:
        """Take the levels of frames that were not a command to us."""
        self._levels.extend(levels_dbfs)
        ordered = sorted(self._levels)
        if ordered:
            self._dbfs = max(LOWEST_DBFS, ordered[int(PERCENTILE * (len(ordered) - 1))])
