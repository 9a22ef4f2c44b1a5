"""The ear of a board: hears what is said to one device, the one that began to listen last."""

import threading
from collections.abc import Callable

from companion.base.errors import NoEarError
from companion.guide.messages import Mode
from companion.out.board.page_microphone import PageMicrophone
from companion.session.inputs import Inbox, Input, InputSource
from companion.wording.board import NOT_YET


class _Passing:
    """Passes on what an ear hears; that it has ended, or what it has told before, is no news."""

    def __init__(self, inbox: Inbox) -> None:
        self._inbox = inbox
        self._told: set[str] = set()

    def put(self, given: Input) -> None:
        if given.kind == "closed" or (given.kind == "notice" and given.text in self._told):
            return
        if given.kind == "notice":
            self._told.add(given.text)
        self._inbox.put(given)


class PageEar:
    """Listens to one microphone at a time, by the ear that `make` gives for it."""

    def __init__(self, make: Callable[[PageMicrophone], InputSource]) -> None:
        self._make = make
        self._lock = threading.Lock()
        self._inbox: _Passing | None = None
        self._ear: InputSource | None = None
        self._microphone: PageMicrophone | None = None
        self._follow: tuple[Mode, int] | None = None

    def start(self, inbox: Inbox) -> None:
        """Put what is heard in the inbox, from now on."""
        self._inbox = _Passing(inbox)

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Listen for what fits now."""
        self._follow = mode, largest_end
        ear = self._ear
        if ear is not None:
            ear.follow(mode, largest_end)

    def listen(self, microphone: PageMicrophone) -> None:
        """Hear this microphone alone from now on, after some seconds; else CompanionError."""
        with self._lock:
            self._end()
            if self._inbox is None or self._follow is None:
                raise NoEarError(NOT_YET)
            ear = self._make(microphone)
            ear.follow(*self._follow)
            ear.start(self._inbox)  # type: ignore[arg-type] # only put is asked of it
            self._ear, self._microphone = ear, microphone

    def leave(self, microphone: PageMicrophone) -> None:
        """Stop hearing this microphone, where it still is the one."""
        with self._lock:
            if microphone is self._microphone:
                self._end()

    def close(self) -> None:
        """Hear nothing any more."""
        with self._lock:
            self._inbox = None
            self._end()

    def _end(self) -> None:
        ear, self._ear, self._microphone = self._ear, None, None
        if ear is not None:
            ear.close()
