"""When to try a thing again that failed: soon at first, then at ease."""

import time
from collections.abc import Callable

Clock = Callable[[], float]
"""Seconds that only ever go forward."""

WAITS = (1.0, 2.0, 5.0, 10.0, 30.0)
"""Seconds before each next try; the last one repeats."""


class Backoff:
    """Counts failures and tells when the next try is due; the first is due at once."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._failures = 0
        self._due_at = clock()

    @property
    def is_due(self) -> bool:
        """Whether it is time to try."""
        return self._clock() >= self._due_at

    def note_failure(self) -> None:
        """Put the next try off."""
        wait = WAITS[min(self._failures, len(WAITS) - 1)]
        self._failures += 1
        self._due_at = self._clock() + wait

    def note_success(self) -> None:
        """Begin afresh."""
        self._failures = 0
        self._due_at = self._clock()
