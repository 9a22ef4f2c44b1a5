"""How a crossing in colour is drawn: the edges of the thread above, and its yarn's mark.

All are lines and shapes in a square of side 1, so that every writer of pictures draws the same.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from companion.out.picture.layout import Way
    from companion.out.picture.swatches import Mark

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


def mark_shapes(mark: Mark) -> tuple[Shape, ...]:
    """Return what a mark is drawn of."""
    return _SHAPES[mark]


def _round(radius: float) -> tuple[Point, ...]:
    """Return the corners of a figure with sixteen sides, the first one again at its end."""
    turns = (2 * pi * corner / 16 for corner in range(17))
    return tuple((0.5 + radius * cos(turn), 0.5 + radius * sin(turn)) for turn in turns)


_SHAPES: Final[dict[Mark, tuple[Shape, ...]]] = {
    "plain": (),
    "dot": (Shape(_round(0.17), is_filled=True),),
    "stroke": (Shape(((0.25, 0.75), (0.75, 0.25))),),
    "ring": (Shape(_round(0.22)),),
    "cross": (Shape(((0.28, 0.28), (0.72, 0.72))), Shape(((0.28, 0.72), (0.72, 0.28)))),
    "bar": (Shape(((0.5, 0.22), (0.5, 0.78))),),
    "square": (Shape(((0.28, 0.28), (0.72, 0.28), (0.72, 0.72), (0.28, 0.72), (0.28, 0.28))),),
    "corner": (Shape(((0.2, 0.8), (0.8, 0.8), (0.2, 0.2)), is_filled=True),),
}
