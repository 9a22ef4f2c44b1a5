"""The colours of a plan as they are drawn: each with a mark and a letter of its own.

Whoever cannot tell two colours apart, or has them in grey, goes by the marks: WCAG 2.2, 1.4.1, asks
that colour is never the only way. A crossing shows the edges of the thread above and its yarn's
mark, as lines and shapes in a square of side 1, so that every writer of pictures draws the same.
"""

from collections.abc import Iterable
from math import cos, pi, sin
from typing import Final, Literal, NamedTuple, get_args

from companion.plan.wif.colours import shade_of

Way = Literal["warp", "weft", "letter"]
"""Which thread is above at a crossing; or that it shows the yarn's letter."""
Mark = Literal["plain", "dot", "stroke", "ring", "cross", "bar", "square", "corner"]

MARKS: Final[tuple[Mark, ...]] = get_args(Mark)
"""With more colours than these they come round again, and letters alone tell those apart."""
MARK_WORDS: Final[dict[Mark, str]] = {
    "plain": "no mark",
    "dot": "a dot",
    "stroke": "a slanting stroke",
    "ring": "a ring",
    "cross": "a cross",
    "bar": "an upright bar",
    "square": "a square",
    "corner": "a filled corner",
}
UNNAMED: Final = "yarn without a colour"
BLACK: Final = "#000000"
WHITE: Final = "#ffffff"
_PALE: Final = "#eeeeee"
"""Of yarn that the plan names no colour for."""
_YARN_WORDS: Final = {
    "natural": "#efe3c8", "ecru": "#efe3c8", "beige": "#d9c7a3", "navy": "#000060",
    "indigo": "#2b3a78", "madder": "#a63c32", "gold": "#c99700", "silver": "#c0c0c0",
    "teal": "#00707a", "rust": "#a8481a", "wine": "#6e1030", "lilac": "#c3a5e1", "gray": "#828282",
}  # fmt: skip
"""Shades of our own for words of yarn that are none of a palette's."""
_LIKE: Final = {"pale": "light", "soft": "light", "deep": "dark"}
"""Words for how light a colour is, and the palette's own for it."""
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


class Swatch(NamedTuple):
    """How one colour is drawn."""

    name: str
    """As the plan has it; "" for yarn without a colour."""
    fill: str
    """"#rrggbb"."""
    ink: str
    """Black or white, whichever stands out more from the fill: 4.5 to 1 or better."""
    letter: str
    mark: Mark

    @property
    def title(self) -> str:
        """The name, or that there is none."""
        return self.name or UNNAMED


def swatches(colours: Iterable[str]) -> dict[str, Swatch]:
    """Return how each colour is drawn, in the order of appearance."""
    found: dict[str, Swatch] = {}
    for number, name in enumerate(dict.fromkeys(colours)):
        fill = _fill(name, number)
        taken = {each.letter for each in found.values()}
        mark = MARKS[number % len(MARKS)]
        found[name] = Swatch(name, fill, _ink(fill), _letter(name, taken), mark)
    return found


def luminance(fill: str) -> float:
    """Return the relative luminance of "#rrggbb" (WCAG 2.2, relative luminance): 0 to 1."""
    levels = [int(fill[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    low, knee, power = 12.92, 0.04045, 2.4
    linear = [
        level / low if level <= knee else ((level + 0.055) / 1.055) ** power for level in levels
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _fill(name: str, number: int) -> str:
    if not name:
        return _PALE
    words = name.casefold().split()
    if words[-1] in _YARN_WORDS:
        return _YARN_WORDS[words[-1]]
    known = " ".join(_LIKE.get(word, word) for word in words)
    return "#" + "".join(f"{round(level):02x}" for level in shade_of(known, number))


def _ink(fill: str) -> str:
    on_black = (luminance(fill) + 0.05) / 0.05
    on_white = 1.05 / (luminance(fill) + 0.05)
    return BLACK if on_black >= on_white else WHITE


def _letter(name: str, taken: set[str]) -> str:
    """Return a letter of the name where one is free, its first letters before the others."""
    initials = "".join(word[0] for word in name.split())
    own = [each for each in (initials + name).upper() if each in _LETTERS]
    return next((each for each in (*own, *_LETTERS) if each not in taken), "?")


Point = tuple[float, float]


class Shape(NamedTuple):
    """A line through points, or what they enclose."""

    points: tuple[Point, ...]
    is_filled: bool = False


def edges(way: Way) -> tuple[Shape, ...]:
    """Return the two edges of a thread that runs up and down (warp) or across (weft)."""
    inset = 0.06
    if way == "warp":
        return tuple(Shape(((x, 0.0), (x, 1.0))) for x in (inset, 1 - inset))
    return tuple(Shape(((0.0, y), (1.0, y))) for y in (inset, 1 - inset))


def _round(radius: float) -> tuple[Point, ...]:
    """Return the corners of a figure with sixteen sides, the first one again at its end."""
    turns = (2 * pi * corner / 16 for corner in range(17))
    return tuple((0.5 + radius * cos(turn), 0.5 + radius * sin(turn)) for turn in turns)


MARK_SHAPES: Final[dict[Mark, tuple[Shape, ...]]] = {
    "plain": (),
    "dot": (Shape(_round(0.17), is_filled=True),),
    "stroke": (Shape(((0.25, 0.75), (0.75, 0.25))),),
    "ring": (Shape(_round(0.22)),),
    "cross": (Shape(((0.28, 0.28), (0.72, 0.72))), Shape(((0.28, 0.72), (0.72, 0.28)))),
    "bar": (Shape(((0.5, 0.22), (0.5, 0.78))),),
    "square": (Shape(((0.28, 0.28), (0.72, 0.28), (0.72, 0.72), (0.28, 0.72), (0.28, 0.28))),),
    "corner": (Shape(((0.2, 0.8), (0.8, 0.8), (0.2, 0.2)), is_filled=True),),
}
