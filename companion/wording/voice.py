"""From printed words to spoken words: numbers for the ear."""

from __future__ import annotations

import re
from typing import Final, Literal

from companion.base.numerals import english
from companion.base.value import Value

_MOST_DIGITS: Final = 6
"""The longest number said whole."""
_TEENS: Final = range(13, 20)
_RISKY: Final = {*_TEENS, *range(30, 100, 10)}
"""Endings of numbers that are mistaken for one another by ear, such as 13 and 30."""


class Style(Value):
    """How callouts are worded."""

    numbers: Literal["natural", "digits", "both-when-risky"] = "natural"
    """"thirty seven", "three seven", or also digit by digit where a number is easily misheard:
    "fifteen, one five"."""
    language: str = "en"
    """The language of the commands, which are named in help."""


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
    is_risky = number % 100 in _RISKY and style.numbers == "both-when-risky"
    return f"{english(number)}, {spelled}," if is_risky else english(number)
