"""The typeface of the sheets: Atkinson Hyperlegible Next.

The Braille Institute of America had it drawn for readers with low vision, so that 0 and O, or 1, l
and I, cannot be taken for each other. It comes under the SIL Open Font License 1.1, which lies
beside the files.
"""

import unicodedata
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "fonts"
REGULAR = FOLDER / "AtkinsonHyperlegibleNext-Regular.ttf"
BOLD = FOLDER / "AtkinsonHyperlegibleNext-Bold.ttf"
UNKNOWN = "?"


@cache
def covered(text: str) -> str:
    """Return text in the typeface's own characters; what it lacks loses its marks or is a "?"."""
    if _characters().issuperset(map(ord, text)):
        return text
    return "".join(_covered(character) for character in text)


def _covered(character: str) -> str:
    if ord(character) in _characters():
        return character
    base = unicodedata.normalize("NFKD", character)[0]
    return base if ord(base) in _characters() else UNKNOWN


@cache
def _characters() -> frozenset[int]:
    from fontTools.ttLib import TTFont  # noqa: PLC0415 - slow to load, and comes with fpdf2 only

    with TTFont(REGULAR) as font:
        return frozenset(font.getBestCmap())
