"""Plurals, lists and fractions, as every room writes and says them."""

import unicodedata
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import groupby
from typing import Final

FINEST_RULER_MARK = 16
"""A ruler's sixteenths of an inch: finer fractions are written as decimals."""
LONGEST_QUOTE = 40
"""Characters of what was written that a message shows."""
LONGEST_LABEL = 60
"""Characters of a name that is spoken and printed."""
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""The characters of Unicode's property Bidi_Control."""
_HISSING = ("s", "x", "z", "ch", "sh")


def plural(noun: str) -> str:
    """Return more than one of a regular noun: "ends", "inches", "entries", "pairs of ends"."""
    head, joint, rest = noun.partition(" of ")
    if head.endswith("y") and head[-2:-1] not in set("aeiou"):
        many = f"{head[:-1]}ies"
    else:
        many = f"{head}es" if head.endswith(_HISSING) else f"{head}s"
    return many + joint + rest


def noun_for(number: int | Fraction, noun: str) -> str:
    """Return a noun as it stands after a number: "end" after 1, "ends" after any other."""
    return noun if number == 1 else plural(noun)


def counted(number: int, noun: str) -> str:
    """Return a number with its noun, "1 end" or "12 ends"."""
    return f"{number} {noun_for(number, noun)}"


def listed(items: Iterable[object], last: str = "and", *, most: int = 0) -> str:
    """Return things in a row, "1", "1 and 2" or "1, 2 and 3"; "" for none.

    Args:
        items: the things.
        last: the word before the last of them.
        most: things named before the rest are "more"; 0 names all.
    """
    named = [str(item) for item in items]
    if most and len(named) > most:
        named = [*named[:most], "more"]
    *before, end = named or [""]
    return f"{', '.join(before)} {last} {end}" if before else end


def numbered(noun: str, numbers: Sequence[int], *, most: int = 0) -> str:
    """Return a noun with numbers, "shaft 3", "shafts 1, 2 and 4" or "no shaft"."""
    if not numbers:
        return f"no {noun}"
    return f"{noun_for(len(numbers), noun)} {listed(numbers, most=most)}"


MOST_BARE: Final = 6
"""Numbers that can be kept as they come; our own choice."""
BREATH: Final = 4
"""After so many in a row the voice takes a breath."""


def in_breaths(noun: str, numbers: Sequence[int]) -> str:
    """Return rising numbers to be kept in mind: up to six as `numbered`, more as runs by fours."""
    if len(numbers) <= MOST_BARE:
        return numbered(noun, numbers)
    places = groupby(enumerate(numbers), key=lambda place: place[1] - place[0])
    runs = [[number for _, number in run] for _, run in places]
    told = [
        text
        for run in runs
        for text in ([from_to(run[0], run[-1])] if len(run) > 2 else map(str, run))  # noqa: PLR2004 - two are as short by themselves
    ]
    *before, last = breaths(told)
    return f"{plural(noun)} {'; '.join([*map(', '.join, before), listed(last)])}"


def breaths(told: Sequence[str]) -> list[Sequence[str]]:
    """Return a long row as short ones, between which the voice takes a breath."""
    return [told[at : at + BREATH] for at in range(0, len(told), BREATH)]


def span(noun: str, first: int, last: int) -> str:
    """Return a run of numbered things, "end 1", "ends 1 and 2" or "ends 1 to 4"."""
    return f"{noun if first == last else plural(noun)} {from_to(first, last)}"


def from_to(first: int, last: int) -> str:
    """Return a run of numbers in words, "7", "7 and 8" or "7 to 12"."""
    if first == last:
        return str(first)
    return f"{first} {'and' if last == first + 1 else 'to'} {last}"


def capital(text: str) -> str:
    """Return text with a capital at its start."""
    return text[:1].upper() + text[1:]


def uncapital(text: str) -> str:
    """Return text with a small letter at its start, to go on inside a sentence."""
    return text[:1].lower() + text[1:]


def sentence(text: str) -> str:
    """Return text with a capital at its start and a full stop at its end."""
    return capital(text) + ("" if text.endswith((".", "?", "!")) else ".")


def decimal(value: Fraction) -> str:
    """Return a figure to two decimals at most, "about" before it where that rounds it."""
    hundredths = round(value * 100)
    whole, rest = divmod(hundredths, 100)
    text = f"{whole}.{rest:02}".rstrip("0").rstrip(".")
    return text if value * 100 == hundredths else f"about {text}"


def ends_per(unit: str, value: Fraction) -> str:
    """Return a sett in words, "20.5 ends per inch"."""
    return f"{decimal(value)} ends per {unit}"


def mixed(value: Fraction) -> str:
    """Return a figure as whole and fraction, exactly: "16 2/3", "2/3" or "16"."""
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole and rest else str(rest or whole)


def ruler(value: Fraction) -> str:
    """Return a figure as it is read off a ruler, "2 1/2"; as a decimal where it has no mark."""
    under = value.denominator
    return mixed(value) if FINEST_RULER_MARK % under == 0 else decimal(value)


def quoted(text: str) -> str:
    """Return text in quotes on one line, cut short where it is long."""
    return f'"{printable(text)}"'


def printable(text: str, most: int = LONGEST_QUOTE) -> str:
    """Return text on one line of at most so many characters."""
    short = text if len(text) <= most else f"{text[: most - 3]}..."
    return "".join(letter if letter.isprintable() else "?" for letter in short)


def is_label(text: str, most: int = LONGEST_LABEL) -> bool:
    """Say whether a name can be spoken and printed: one line, visible, not turning text about."""
    kinds = {unicodedata.category(letter) for letter in text}
    has_harm = kinds & {"Cc", "Cs", "Zl", "Zp"} or _TURNING.intersection(text)
    is_visible = any(kind[0] not in "CZ" for kind in kinds)
    return len(text) <= most and is_visible and not has_harm
