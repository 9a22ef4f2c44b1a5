"""Palette colours as words for the ear, and words as shades for a palette."""

import re
from collections.abc import Collection, Iterable, Mapping
from colorsys import hls_to_rgb
from typing import NamedTuple

from companion.base.text import is_label
from companion.plan.wif.sections import COLOUR_NAMES, FileFindings, Section, Sections, items, whole

MAX_NAMED = 100
"""Palettes with more colours in use than this are told by number; words would not part them."""
_DECIMAL = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{0,9})?")
_FULL = 255


class Shade(NamedTuple):
    """Red, green and blue, each 0 to 255."""

    red: float
    green: float
    blue: float


WORDS: Mapping[str, Shade] = {
    "black": Shade(0, 0, 0),
    "dark grey": Shade(75, 75, 75),
    "grey": Shade(130, 130, 130),
    "light grey": Shade(200, 200, 200),
    "white": Shade(255, 255, 255),
    "cream": Shade(255, 245, 210),
    "red": Shade(220, 20, 30),
    "dark red": Shade(130, 0, 20),
    "pink": Shade(255, 170, 190),
    "orange": Shade(255, 140, 0),
    "brown": Shade(140, 75, 35),
    "light brown": Shade(200, 160, 110),
    "yellow": Shade(255, 225, 0),
    "green": Shade(0, 140, 50),
    "dark green": Shade(0, 75, 30),
    "light green": Shade(150, 220, 130),
    "turquoise": Shade(0, 190, 190),
    "blue": Shade(0, 70, 220),
    "dark blue": Shade(0, 0, 110),
    "light blue": Shade(150, 200, 240),
    "purple": Shade(120, 30, 150),
    "light purple": Shade(195, 165, 225),
}
"""The eleven basic colour terms of Berlin and Kay, *Basic Color Terms* (1969), with light and dark
kinds of the wider ones and the yarn shades cream and turquoise; the shades are our own choice."""

_TURN = (5**0.5 - 1) / 2
"""Hues a golden section apart lie far from one another, however many there are."""


def shade_of(word: str, number: int) -> Shade:
    """Return the shade of a word in a colour's name, or one that its number sets apart."""
    held = [known for known in WORDS if f" {known} " in f" {word.casefold()} "]
    if held:
        return WORDS[max(held, key=len)]
    levels = hls_to_rgb(number * _TURN % 1, 0.5, 0.5)
    return Shade(*(level * _FULL for level in levels))


def colour_names(used: Iterable[int], palette: Mapping[int, Shade]) -> dict[int, str]:
    """Return a short name for each palette number in use, no two alike.

    A colour takes the nearest word; where two would take the same one, the nearer keeps it and the
    other is told by its palette number, "colour 7".
    """
    names = {number: f"colour {number}" for number in used}
    known = [number for number in names if number in palette]
    if len(names) > MAX_NAMED:
        return names
    taken: dict[str, int] = {}
    for number in sorted(known, key=lambda number: (_nearest(palette[number])[0], number)):
        taken.setdefault(_nearest(palette[number])[1], number)
    return names | {number: word for word, number in taken.items()}


def _nearest(shade: Shade) -> tuple[float, str]:
    return min((_distance(shade, word_shade), word) for word, word_shade in WORDS.items())


def _distance(one: Shade, other: Shade) -> float:
    """Return a distance near to the eye's: T. Riemersma, "Colour metric" (weighted RGB)."""
    mean_red = (one.red + other.red) / 2
    red, green, blue = ((a - b) ** 2 for a, b in zip(one, other, strict=True))
    return (2 + mean_red / 256) * red + 4 * green + (2 + (255 - mean_red) / 256) * blue


def read_palette(
    sections: Sections, used: Collection[int], findings: FileFindings
) -> dict[int, Shade]:
    """Return the shades of the colours in use by number; lines at fault are noted."""
    table = sections.get("COLOR TABLE")
    if table is None:
        return {}
    low, high = _range(sections.get("COLOR PALETTE"), findings)
    palette = {}
    for line in table.lines:
        number = whole(line.key)
        if number is None or number not in used:
            continue
        match [_decimal(item) for item in items(line.value)]:
            case [float(red), float(green), float(blue), *_]:
                levels = ((level - low) / (high - low) * _FULL for level in (red, green, blue))
                palette[number] = Shade(*(min(max(level, 0), _FULL) for level in levels))
            case _:
                fault = "expected red, green and blue; the line is left out"
                findings.note(f"{table.place(line)}: {fault}")
    return palette


def read_names(sections: Sections, used: Collection[int]) -> dict[int, str]:
    """Return the names that our own writer gave to colours in use, where they are speakable."""
    section = sections.get(COLOUR_NAMES)
    return {
        number: line.value
        for line in (section.lines if section else ())
        if (number := whole(line.key)) in used and number and is_label(line.value)
    }


def _range(section: Section | None, findings: FileFindings) -> tuple[float, float]:
    line = section and section.find("range")
    if not (section and line):
        return 0, _FULL
    match [_decimal(item) for item in items(line.value)]:
        case [float(low), float(high)] if low < high:
            return low, high
    findings.note(f"{section.place(line)}: expected two levels, low and high; 0 to 255 is used")
    return 0, _FULL


def _decimal(text: str) -> float | None:
    return float(text) if _DECIMAL.fullmatch(text) else None
