"""From printed words to spoken words: numbers for the ear, and no command words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from companion.command import fixed_words
from companion.numerals import english, plain

_LARGEST_SAID_WHOLE: Final = 999_999
_TEENS: Final = range(13, 20)
_RISKY: Final = {*_TEENS, *range(30, 100, 10)}
"""Endings of numbers that are mistaken for one another by ear, such as 13 and 30."""


@dataclass(frozen=True, slots=True)
class Style:
    """How callouts are worded."""

    numbers: Literal["natural", "digits", "both-when-risky"] = "natural"
    """"thirty seven", "three seven", or also digit by digit where a number is easily misheard:
    "fifteen, one five"."""
    language: str = "en"
    """The language of the commands: their words are kept out of callouts, and named in help."""


def speak(text: str, style: Style, *, is_help: bool = False) -> str:
    """Return what is said for a printed text.

    Ranges are said with "through", since "to" sounds like "two". Whatever in a plan's own names
    is a command is spelled, because the microphone may hear the loudspeaker; help alone is not.
    """
    words = re.sub(r"\brepeat (?=\d)", "round ", text, flags=re.IGNORECASE)
    words = re.sub(r"(\d) to (?=\d)", r"\1 through ", words)
    words = re.sub(r"\s*(\d+)\s*", lambda found: f" {_number(int(found[1]), style)} ", words)
    words = re.sub(r"\s+([.,:;?!%)\]])", r"\1", words.replace("%", " per cent"))
    words = " ".join(words.split())
    return words if is_help else guarded(words, style.language)


def _number(number: int, style: Style) -> str:
    digits = " ".join(english(int(digit)) for digit in str(number))
    if style.numbers == "digits" or number > _LARGEST_SAID_WHOLE:
        return digits
    is_risky = number % 100 in _RISKY and style.numbers == "both-when-risky"
    return f"{english(number)}, {digits}," if is_risky else english(number)


def guarded(text: str, language: str) -> str:
    """Return text in which no words of a command stand as such: their first word is spelled."""
    for pattern in _command_patterns(language):
        text = pattern.sub(lambda found: _spelled(found[0]), text)
    return text


def _spelled(phrase: str) -> str:
    first, *rest = re.split(r"(?<=\w)(?=\W)", phrase, maxsplit=1)
    return " ".join(first) + "".join(rest)


@cache
def _command_patterns(language: str) -> tuple[re.Pattern[str], ...]:
    """Return a pattern for every command's words, the longest first."""
    found = sorted(fixed_words(language), key=len, reverse=True)
    return tuple(
        re.compile(r"\b" + r"\W+".join(map(re.escape, plain(words).split())) + r"\b", re.IGNORECASE)
        for words in found
    )
