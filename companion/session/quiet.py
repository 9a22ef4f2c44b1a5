"""Since when nothing has been said: what waits for the end of a sentence asks here."""

from __future__ import annotations


class Quiet:
    """Keeps the moment at which the last sentence ended. No clock of its own."""

    def __init__(self) -> None:
        self._since: float | None = None

    def spoke(self) -> None:
        """Something new is being said."""
        self._since = None

    def seconds(self, now: float, *, is_speaking: bool) -> float:
        """Return for how long it has been quiet, as far as it was looked at; 0 while speaking."""
        if is_speaking:
            self._since = None
        elif self._since is None:
            self._since = now
        return 0.0 if self._since is None else now - self._since
