"""Looks at a walk from its own thread, and tells how the loom stands."""

import logging
import time
from typing import Any, Final, Protocol

from companion.base.errors import CompanionError
from companion.guide.messages import Mode
from companion.out.board.feed import Feed
from companion.out.handover.pace import Moment
from companion.out.handover.record import Moments
from companion.out.studio.standing import at_pace, walked
from companion.record import Journal
from companion.session.inputs import Inbox
from companion.session.sitting import Sitting
from companion.session.walk import StageWalk

_log = logging.getLogger(__name__)
PACE_SECONDS: Final = 15.0
"""How often the pace is worked out anew, which takes longer the longer the record is."""


class Told(Protocol):
    """Takes the fields of a standing that may have changed."""

    def __call__(self, values: dict[str, Any], *, has_entries: bool) -> None:
        """Take them, and whether the record has grown."""


class Watch:
    """A source that gives nothing: it is told, as every source is, what the walk waits for.

    It passes that on to the loom's pages and, by `tell`, what has changed.
    """

    def __init__(self, sitting: Sitting, journal: Journal, feed: Feed, tell: Told) -> None:
        self._sitting = sitting
        self._journal = journal
        self._feed = feed
        self._tell = tell
        self._moments: list[Moment] = []
        self._reader = Moments()
        self._read = 0
        self._pace: dict[str, str] = {}
        self._paced_at = float("-inf")
        self._paced_for = ""

    def start(self, inbox: Inbox) -> None:
        """Nothing is given from here."""

    def close(self) -> None:
        """Nothing to give back."""

    def follow(self, mode: Mode, largest_end: int) -> None:  # noqa: ARG002 - looks for itself
        """Tell how the loom stands now."""
        self.follow_on()

    def follow_on(self) -> None:
        """Tell how the loom stands now."""
        walk = self._sitting.walk
        has_entries = self._read_on()
        values = walked(walk.state, walk.stage)
        values.update(self._at_pace(walk), pages=self._feed.watched_by)
        values["note"] = self._sitting.plan_fault
        if self._moments:
            values["heard_at"] = self._moments[-1].at
        self._tell(values, has_entries=has_entries)

    def _read_on(self) -> bool:
        """Take in what was written since; return whether there was anything."""
        before = self._read
        try:
            for entry in self._journal.entries(after=self._read):
                self._moments.append(self._reader.of(entry))
                self._read = entry.number
        except CompanionError as error:  # the walk itself will tell; here it is only looked at
            _log.warning("not read: %s", error)
        return self._read > before

    def _at_pace(self, walk: StageWalk) -> dict[str, str]:
        now = time.monotonic()
        if now - self._paced_at >= PACE_SECONDS or self._paced_for != walk.stage.name:
            self._pace = at_pace(walk.stage, self._moments, walk.state.confirmed)
            self._paced_at, self._paced_for = now, walk.stage.name
        return self._pace
