"""What a key is called, what happens to it, and what every source of commands offers."""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum
from typing import NamedTuple, Protocol

Emit = Callable[[str], None]
"""Takes the text of one command, such as "done" or "count 24"."""
Tell = Callable[[str], None]
"""Takes one plain line for the weaver."""

_ALIASES = {
    "esc": "escape",
    "return": "enter",
    "pgdn": "page down",
    "pgup": "page up",
    "pagedown": "page down",
    "pageup": "page up",
}


class Change(IntEnum):
    """What happened to a key; the numbers are those of the Linux input event protocol.

    Source: Linux kernel documentation, Documentation/input/event-codes.rst, EV_KEY.
    """

    RELEASE = 0
    PRESS = 1
    REPEAT = 2


class KeyEvent(NamedTuple):
    """One change of one key."""

    key: str
    """A canonical name: "b", "space", "page down", "f13"."""
    change: Change
    time: float
    """Seconds on a clock that never steps back."""


class CommandSource(Protocol):
    """Something that turns what the weaver does into the text of commands."""

    name: str
    """For the journal: "key" or "pedal"."""

    def run(self, emit: Emit) -> None:
        """Emit command text until `stop` is called or the device ends; runs in its own thread."""

    def stop(self) -> None:
        """Make `run` return soon; safe from any thread."""


def canonical_key(name: str) -> str:
    """Return the one name of a key: lower case, words parted by single spaces."""
    if name in {" ", "\r", "\n"}:
        return "space" if name == " " else "enter"
    plain = " ".join(name.replace("_", " ").lower().split()) or name
    return _ALIASES.get(plain, plain)
