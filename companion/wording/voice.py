"""From printed words to spoken words: numbers for the ear."""

import re
from typing import Final, Literal

from companion.base.numerals import english
from companion.base.value import Value
from companion.wording.mistaken import mistaken

_MOST_DIGITS: Final = 6
"""The longest number said whole."""


class Style(Value):
    """How callouts are worded."""

    numbers: Literal["words", "digits", "both"] = "words"
    """"thirty seven", "three seven", or also digit by digit where the voice makes a number sound
    like others: "fifteen, one five"."""
    language: str = "en"
    """The language of the commands, which are named in help."""
    voice: str = ""
    """Which voice speaks, by the name it has in `mistaken`; "" for one that was not measured."""
    words_per_minute: int = 160
    is_typed: bool = True
    """Whether the walk was begun by a command of the weaver's own, which takes it up again."""


def speak(text: str, style: Style) -> str:
    """Return what is said for a printed text: ranges with "through", as "to" sounds like "two"."""
    words = re.sub(r"(\d) to (?=\d)", r"\1 through ", text)
    words = re.sub(r"[0-9]+", lambda found: f" {_number(found[0], style)} ", words)
    words = re.sub(r"\s+(?=[.,:;?!)\]])|,\s*(?=[.,:;?!])", "", words)
    return " ".join(words.split())


def _number(digits: str, style: Style) -> str:
    spelled = " ".join(english(int(digit)) for digit in digits)
    if style.numbers == "digits" or len(digits) > _MOST_DIGITS:
        return spelled
    number = int(digits)
    is_risky = style.numbers == "both" and len(digits) > 1
    if is_risky and number % 100 in mistaken(style.voice, style.words_per_minute):
        return f"{english(number)}, {spelled},"
    return english(number)
