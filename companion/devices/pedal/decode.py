"""From the bytes a terminal sends to the names of keys.

Source of the sequences: Thomas E. Dickey and others, "XTerm Control Sequences", sections
"PC-Style Function Keys" and "VT220-Style Function Keys"; the Linux console's F1 to F5 from
console_codes(4); the numbers of F13 and above in the "u" form from the kitty keyboard protocol's
table of functional keys. The tests compare them with the system's terminfo database.
"""

import codecs
import re
from collections.abc import Iterator

_SEQUENCE = re.compile(
    r"\x1b(?:O[\x40-\x7e]|\[\[[A-E]|\[\d+\$|\[[\x30-\x3f]*[\x20-\x2f]*[\x40-\x7e])"
)
_OPENING = re.compile(r"\x1b(?:O|\[\[?|\[[\x30-\x3f]*[\x20-\x2f]*)?\Z")
_LETTERED = {
    "A": "up",
    "B": "down",
    "C": "right",
    "D": "left",
    "F": "end",
    "H": "home",
    "M": "enter",  # the keypad's own Enter
    "P": "f1",
    "Q": "f2",
    "R": "f3",
    "S": "f4",
    "Z": "shift tab",
}
_NUMBERED = {
    1: "home",
    2: "insert",
    3: "delete",
    4: "end",
    5: "page up",
    6: "page down",
    7: "home",
    8: "end",
    **{11 + n: f"f{1 + n}" for n in range(5)},
    **{17 + n: f"f{6 + n}" for n in range(5)},
    **{23 + n: f"f{11 + n}" for n in range(4)},
    28: "f15",
    29: "f16",
    **{31 + n: f"f{17 + n}" for n in range(4)},
}
_CONSOLE = {letter: f"f{1 + n}" for n, letter in enumerate("ABCDE")}
_UNICODE_FORM = {57376 + n: f"f{13 + n}" for n in range(12)}
_CONTROLS = {
    "\r": "enter",
    "\n": "enter",
    "\t": "tab",
    "\x08": "backspace",
    "\x7f": "backspace",
    "\x1b": "escape",
    " ": "space",
}
_MODIFIERS = ((4, "ctrl"), (2, "alt"), (1, "shift"))
_FUNCTION_KEYS_IN_A_ROW = 12
_FIRST_PRINTABLE = " "


class KeyDecoder:
    """Turns bytes, cut anywhere, into key names; what it does not know is "unknown"."""

    def __init__(self) -> None:
        self._text = codecs.getincrementaldecoder("utf-8")(errors="replace")
        self._held = ""

    @property
    def is_waiting(self) -> bool:
        """Whether an escape sequence has begun that may go on, or be the Escape key itself."""
        return bool(self._held)

    def feed(self, data: bytes) -> list[str]:
        """Return the keys that `data` completes."""
        self._held += self._text.decode(data)
        return list(self._take())

    def flush(self) -> list[str]:
        """Return what has been waiting, as keys: nothing more has come for a while."""
        held, self._held = self._held, ""
        if not held:
            return []
        return ["escape"] if held == "\x1b" else ["unknown"]

    def _take(self) -> Iterator[str]:
        while self._held:
            if found := _SEQUENCE.match(self._held):
                self._held = self._held[found.end() :]
                yield _sequence_name(found[0])
            elif _OPENING.match(self._held):
                return
            else:
                first, self._held = self._held[0], self._held[1:]
                yield _character_name(first)


def _character_name(character: str) -> str:
    if character in _CONTROLS:
        return _CONTROLS[character]
    if character < _FIRST_PRINTABLE:
        return f"ctrl {chr(ord(character) + 96)}"
    return character if character.isprintable() else "unknown"


def _sequence_name(sequence: str) -> str:
    if sequence.startswith("\x1b[["):
        return _CONSOLE[sequence[-1]]
    body, last = sequence[2:-1], sequence[-1]
    if not re.fullmatch(r"[0-9;:]*", body):
        return "unknown"
    numbers = [int(part.split(":")[0] or 1) for part in body.split(";")] if body else [1]
    modifiers = numbers[1] if len(numbers) > 1 else 1
    name = _plain_name(numbers[0], last)
    return _with_modifiers(name, modifiers - 1) if name else "unknown"


def _plain_name(number: int, last: str) -> str | None:
    if last == "~":
        return _NUMBERED.get(number)
    if last == "u":
        is_character = 0 < number < min(_UNICODE_FORM)
        return _UNICODE_FORM.get(number) or (_character_name(chr(number)) if is_character else None)
    return _LETTERED.get(last)


def _with_modifiers(name: str, bits: int) -> str:
    """Put the modifiers' names before the key's; a shifted F1 is F13, as terminfo has it."""
    is_function = re.fullmatch(r"f([1-9]|1[0-2])", name)
    if bits == 1 and is_function:
        return f"f{int(is_function[1]) + _FUNCTION_KEYS_IN_A_ROW}"
    return " ".join([*(word for bit, word in _MODIFIERS if bits & bit), name])
