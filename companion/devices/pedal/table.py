"""Which key gives which command: the defaults as data, and the weaver's changes to them."""

from collections.abc import Mapping
from typing import Final

from companion.base.errors import PedalError
from companion.command import Kind, words
from companion.devices.pedal.gesture import Gesture
from companion.devices.pedal.keys import canonical_key

NAMED_KEYS: Final[Mapping[str, str]] = {
    "space": Kind.DONE,
    "enter": Kind.DONE,
    "page down": Kind.DONE,
    "right": Kind.DONE,
    "page up": Kind.BACK,
    "left": Kind.BACK,
    "up": Kind.REPEAT,
    "home": Kind.WHERE,
    "ctrl d": Kind.STOP,
}
"""Keys that type nothing (but for space); they act in a terminal whatever the settings."""

CHARACTER_KEYS: Final[Mapping[str, str]] = {
    key: name for key, name in words.KEYS.items() if not key.isspace()
}
"""Single characters that act in a terminal while letters are on.

They can be switched off or bound anew, as WCAG 2.2 asks (2.1.4 Character Key Shortcuts).
"""

NUMBER_ENDS: Final[Mapping[str, str]] = {
    canonical_key(key): form for key, form in words.KEYS_AFTER_NUMBER.items()
}
"""What a key that ends a number makes of it."""

_GESTURES = {str(gesture): gesture for gesture in (Gesture.TAP, Gesture.HOLD, Gesture.DOUBLE)}


def parse_key(text: str) -> tuple[str, Gesture]:
    """Return the key and gesture of "f13", "f13 hold" or "f13 double"; else PedalError."""
    key = canonical_key(text)
    head, _, last = key.rpartition(" ")
    if head and last in _GESTURES:
        return head, _GESTURES[last]
    if not key.strip():
        raise PedalError(
            "Expected the name of a key, such as f13 or page down hold, and none came. "
            "Name the key."
        )
    return key, Gesture.TAP


class Bindings:
    """Keys with their gestures, "f13" or "f13 hold", each bound to the text of one command.

    An empty command frees its key. Raises PedalError where a key is bound twice.
    """

    def __init__(self, table: Mapping[str, str]) -> None:
        self._commands: dict[tuple[str, Gesture], str] = {}
        for written, command in table.items():
            pair = parse_key(written)
            if pair in self._commands:
                raise PedalError(f"The key {written} is bound twice. Keep one of the two.")
            if command:
                self._commands[pair] = str(command)

    def command(self, key: str, gesture: Gesture = Gesture.TAP) -> str | None:
        """Return the text bound to this gesture of this key, or None."""
        return self._commands.get((key, gesture))

    def keys(self, gesture: Gesture) -> frozenset[str]:
        """Return the keys with something bound to `gesture`."""
        return frozenset(key for key, bound in self._commands if bound is gesture)


def keyboard_bindings(changes: Mapping[str, str], *, has_letters: bool = True) -> Bindings:
    """Return the terminal's bindings: the defaults with the weaver's changes over them.

    Single characters act only where it has letters. Raises PedalError for a hold or double tap,
    which a terminal cannot tell.
    """
    table = {**NAMED_KEYS, **(CHARACTER_KEYS if has_letters else {})}
    for written, command in changes.items():
        key, gesture = parse_key(written)
        if gesture is not Gesture.TAP:
            raise PedalError(
                f"A terminal cannot tell when a key is let go, so {written} cannot work there. "
                "Bind a single press, or bind it under pedal for a pedal read by itself."
            )
        table[key] = command
    return Bindings(table)
