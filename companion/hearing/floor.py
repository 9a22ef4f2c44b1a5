"""How loud the room is when nobody speaks to us: the noise floor."""

from __future__ import annotations

from collections import deque

WINDOW_SECONDS = 5.0
PERCENTILE = 0.7
"""Seven frames of ten lie below the floor, so that a radio's speech, which comes and goes, is
part of the noise, while single words with pauses between are not."""
LOWEST_DBFS = -65.0
"""Below this no microphone is believed: digital silence must not make every rustle a word."""


class NoiseFloor:
    """The level under which most of the last seconds lie, in dBFS.

    Args:
        frames: how many frames the window holds.
    """

    def __init__(self, frames: int) -> None:
        self._levels: deque[float] = deque(maxlen=frames)
        self._dbfs = LOWEST_DBFS

    @property
    def dbfs(self) -> float:
        """The floor now."""
        return self._dbfs

    def add(self, level_dbfs: float) -> None:
        """Take one frame's level."""
        self._levels.append(level_dbfs)
        ordered = sorted(self._levels)
        self._dbfs = max(LOWEST_DBFS, ordered[int(PERCENTILE * (len(ordered) - 1))])

    def forget(self, frames: int) -> None:
        """Leave out the newest frames: they were a command to us, not noise."""
        for _ in range(min(frames, len(self._levels))):
            self._levels.pop()
