"""What a key is called, what happens to it, and what every source of commands offers."""

from collections.abc import Callable
from enum import IntEnum
from typing import NamedTuple, Protocol, Self

Emit = Callable[[str], None]
"""Takes the text of one command, such as "done" or "count 24"."""
BURST_PRESSES = 3
"""So many quick presses of done ask for the choices, where one key is all there is."""

_ALIASES = {
    "esc": "escape",
    "return": "enter",
    "pgdn": "page down",
    "pgup": "page up",
    "pagedown": "page down",
    "pageup": "page up",
}


class KeyChange(IntEnum):
    """What happened to a key, by the numbers of the Linux input event protocol.

    Source: Linux kernel documentation, Documentation/input/event-codes.rst, EV_KEY.
    """

    RELEASE = 0
    PRESS = 1
    REPEAT = 2


class KeyEvent(NamedTuple):
    """One change of one key."""

    key: str
    """A canonical name: "b", "space", "page down", "f13"."""
    change: KeyChange
    time: float
    """Seconds on a clock that never steps back."""


class TurnedText(str):
    """The text of a command given by a key that page-turning pedals send, and nobody called hers.

    Whether a foot or a hand pressed it cannot be known.
    """

    __slots__ = ()


class QuickText(str):
    """The text of a command given by quick presses, each of which gave another first.

    `quick` of them were emitted, and are to be taken back; `gave` is what each gave, "" anything.
    """

    __slots__ = ("gave", "quick")
    quick: int
    gave: str

    def __new__(cls, text: str, quick: int, gave: str = "") -> Self:
        """Make it a text like any other that knows of its presses."""
        made = super().__new__(cls, text)
        made.quick, made.gave = quick, gave
        return made


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
