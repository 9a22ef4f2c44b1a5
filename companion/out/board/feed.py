"""What happened, in order, for every board that looks on and for those that come back late."""

import asyncio
import json
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, Final, NamedTuple

KEPT: Final = 200
"""Events kept for boards that come back; older ones are in the journal."""
LINES_SHOWN: Final = 20
"""Lines of the log that a board is given when it comes new."""


class PageEvent(NamedTuple):
    """One thing that happened."""

    id: str
    """The run of the server and the event's number in it."""
    text: str
    """The event as it goes over the wire, as one JSON object with the id, `kind` and `data`.

    Made once for all pages, and kept alone: the collector need not look through text.
    """


class Feed:
    """Takes events from the walk's thread and wakes every board that waits for them.

    `run` is a name no other run of the server has, so that a board notices a restart.
    """

    def __init__(self, run: str) -> None:
        self.run = run
        self._lock = threading.Lock()
        self._events: deque[PageEvent] = deque(maxlen=KEPT)
        self._lines: deque[dict[str, Any]] = deque(maxlen=LINES_SHOWN)
        self._whole: dict[str, Any] = {"place": {}, "ahead": [], "room": None, "ended": ""}
        """What a page that comes new is shown, beside the lines."""
        self._number = 0
        self._waiting: set[tuple[asyncio.AbstractEventLoop, asyncio.Event]] = set()

    @property
    def has_ended(self) -> bool:
        """Whether nothing more will come."""
        return bool(self._whole["ended"])

    def line(self, text: str, tune: str) -> None:
        """Add a line that was said, with the tone that went with it or ""."""
        line = {"text": text, "tune": tune}
        with self._lock:
            self._lines.append(line)
        self._add("line", line)

    def place(self, place: dict[str, Any]) -> None:
        """Add the place the walk has come to."""
        self._add("place", place, place=place)

    def part(self, kind: str, data: dict[str, Any], whole: dict[str, Any]) -> None:
        """Add a change of a part, and what a page that comes new is shown instead."""
        self._add(kind, data, place=whole)

    def sound(self, sound: dict[str, Any]) -> None:
        """Add something to be heard; a page that comes back later does not sound it any more."""
        self._add("sound", sound)

    def ahead(self, clips: list[str]) -> None:
        """Add which clips will likely be wanted next."""
        self._add("ahead", {"clips": clips}, ahead=clips)

    def room(self, *, is_on: bool) -> None:
        """Add whether the companion speaks in the room."""
        self._add("room", {"is_on": is_on}, room=is_on)

    def end(self, why: str) -> None:
        """Say that the walk has ended; every board is told, then let go."""
        self._add("end", {"text": why}, ended=why)

    def after(self, last: str) -> list[PageEvent]:
        """Return what came after the event `last`, or the whole picture where that is not known."""
        run, _, number = last.rpartition(".")
        with self._lock:
            is_known = run == self.run and number.isascii() and number.isdigit()
            missed = self._number - int(number) if is_known else -1
            if 0 <= missed <= len(self._events):
                return [*self._events][len(self._events) - missed :]
            return [self._event("whole", {**self._whole, "lines": [*self._lines]})]

    @contextmanager
    def waiter(self) -> Iterator[asyncio.Event]:
        """Yield what is set, in the caller's loop, whenever there is something new."""
        mine = asyncio.get_running_loop(), asyncio.Event()
        with self._lock:
            self._waiting.add(mine)
        try:
            yield mine[1]
        finally:
            with self._lock:
                self._waiting.discard(mine)

    @property
    def watched_by(self) -> int:
        """How many boards look on."""
        with self._lock:
            return len(self._waiting)

    def _add(self, kind: str, data: dict[str, Any], **shown: Any) -> None:
        with self._lock:
            self._whole.update(shown)
            self._number += 1
            self._events.append(self._event(kind, data))
            waiting = tuple(self._waiting)
        for loop, event in waiting:
            with suppress(RuntimeError):  # that loop has closed meanwhile
                loop.call_soon_threadsafe(event.set)

    def _event(self, kind: str, data: dict[str, Any]) -> PageEvent:
        identity = f"{self.run}.{self._number}"
        text = json.dumps({"id": identity, "kind": kind, "data": data})
        return PageEvent(identity, text)
