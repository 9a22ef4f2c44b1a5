"""When to speak of a rest, and since when it is quiet. Times are given, not read."""

PAUSE_SECONDS = 120.0
"""A rest that the weaver asked for counts as one from here on."""
GAP_SECONDS = 300.0
"""So long without a command is a rest too: nobody is at the loom, or they do something else."""


class BreakReminder:
    """Counts the time at work since the last rest; 0 seconds of it never speak of one."""

    def __init__(self, after_seconds: float, now: float) -> None:
        self._after_seconds = after_seconds
        self._began_at = self._last_at = now
        self._is_paused = False

    def took(self, now: float, *, is_paused: bool) -> None:
        """Learn that a command came, and whether the walk rests after it."""
        if self._is_rested(now):
            self._began_at = now
        if not (is_paused and self._is_paused):  # a question asked while resting ends no rest
            self._last_at = now
        self._is_paused = is_paused

    def is_due(self, now: float) -> bool:
        """Return whether to speak of a rest now; it is not said again before as long a time."""
        if not self._after_seconds or self._is_paused or self._is_rested(now):
            return False
        if now - self._began_at < self._after_seconds:
            return False
        self._began_at = now
        return True

    def _is_rested(self, now: float) -> bool:
        return now - self._last_at >= (PAUSE_SECONDS if self._is_paused else GAP_SECONDS)


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
