"""From printed words to spoken words: numbers for the ear, and no command words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from companion.command import fixed_words
from companion.numerals import english, plain

_MOST_DIGITS: Final = 6
"""The longest number said whole."""
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
    words = re.sub(r"\b(r)epeat (?=\d)", _pattern, text, flags=re.IGNORECASE)
    words = re.sub(r"(\d) to (?=\d)", r"\1 through ", words)
    words = re.sub(r"[0-9]+", lambda found: f" {_number(found[0], style)} ", words)
    words = re.sub(r"\s+(?=[.,:;?!)\]])|,\s*(?=[.,:;?!])", "", words)
    words = " ".join(words.split())
    return words if is_help else guarded(words, style.language)


def _pattern(found: re.Match[str]) -> str:
    """Return the word that stands for a numbered repeat, which is a command by itself."""
    return "Pattern " if found[1] == "R" else "pattern "


def _number(digits: str, style: Style) -> str:
    spelled = " ".join(english(int(digit)) for digit in digits)
    if style.numbers == "digits" or len(digits) > _MOST_DIGITS:
        return spelled
    number = int(digits)
    is_risky = number % 100 in _RISKY and style.numbers == "both-when-risky"
    return f"{english(number)}, {spelled}," if is_risky else english(number)


def guarded(text: str, language: str) -> str:
    """Return text in which no words of a command stand as such: their first word is spelled."""
    words = list(re.finditer(r"[^\W_]+", text))
    heard = [plain(word[0]) for word in words]
    pieces, written = [], 0
    for place, word in enumerate(words):
        commands = _commands(language).get(heard[place], ())
        if any(tuple(heard[place : place + len(command)]) == command for command in commands):
            pieces += [text[written : word.start()], _spelled(word[0])]
            written = word.end()
    return "".join([*pieces, text[written:]])


def _spelled(word: str) -> str:
    """Return a word letter by letter; one letter alone would still be the word, and is left out."""
    return " ".join(word) if len(word) > 1 else ""


@cache
def _commands(language: str) -> dict[str, tuple[tuple[str, ...], ...]]:
    """Return the words of every command under the first of them; English is always understood."""
    found: dict[str, tuple[tuple[str, ...], ...]] = {}
    for phrase in dict.fromkeys((*fixed_words(language), *fixed_words())):
        words = tuple(phrase.split())
        found[words[0]] = (*found.get(words[0], ()), words)
    return found
