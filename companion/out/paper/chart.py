"""Strips and bars beside a sheet's lines: the reed, the warp, the heddles, the groups.

A chart is a value; `placed` gives its boxes and words on paper, whatever draws them.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from companion.base.value import Value
from companion.out.picture.swatches import Swatch

Measure = Callable[[str], float]
"""The printed width of a text, in the unit of all widths beside it."""

BOX: float = 1.4
"""Height of a band's boxes, in sizes of the type."""
MARKS: float = 1.4
"""Height of the numbers beneath a band, in sizes of the type."""
BELOW: float = 0.7
"""Left free below a band, in sizes of the type."""
LEADING: float = 1.5
"""From what is written in a box to the numbers beneath it, in sizes of the type."""
FOOT: float = 1.02
"""From a box's upper edge down to the foot of what is written in it, in sizes of the type."""


class Segment(NamedTuple):
    """A part of a band."""

    size: int
    """In the units of its chart."""
    text: str = ""
    """Written in it, where it has room for that."""
    swatch: Swatch | None = None
    """The yarn; None is bare paper."""
    is_gap: bool = False
    """Whether it is only room left free, without a box."""


class Band(NamedTuple):
    """One row of boxes."""

    segments: tuple[Segment, ...]
    name: str = ""
    """At its left."""
    marks: tuple[tuple[float, str], ...] = ()
    """What stands beneath it, and where, in the units of its chart; the most wanted first."""


class Chart(Value):
    """A drawing of bands, one below the other."""

    name: str
    """"The reed"."""
    words: str
    """What it shows, as sentences."""
    size: int
    """How many units are as wide as the paper."""
    bands: tuple[Band, ...]
    is_told: bool = True
    """Whether its words say more than the lines of its sheet do."""


class Box(NamedTuple):
    """A box on paper."""

    x: float
    y: float
    width: float
    height: float
    swatch: Swatch | None


class Word(NamedTuple):
    """Words on paper, centred at the foot given, or beginning there."""

    x: float
    y: float
    text: str
    ink: str = ""
    """"#rrggbb"; "" is that of all print."""
    is_centred: bool = True


class Placed(NamedTuple):
    """A band on paper, from its upper left corner."""

    boxes: tuple[Box, ...]
    words: tuple[Word, ...]
    height: float


def height_of(band: Band, points: float) -> float:
    """Return how much of the paper's height a band takes."""
    return points * (BOX + BELOW + (MARKS if band.marks else 0))


def placed(chart: Chart, band: Band, width: float, points: float, measure: Measure) -> Placed:
    """Return one band of a chart, which gives the scale, as boxes and words.

    The width is of the paper, in the unit of `points`, the size of the type.
    """
    names = max(measure(each.name) for each in chart.bands)
    left = names + points / 2 if names else 0.0
    unit = (width - left) / chart.size
    words = [Word(0.0, FOOT * points, band.name, is_centred=False)] if band.name else []
    boxes: list[Box] = []
    at = 0
    for segment in band.segments:
        x, wide = left + at * unit, segment.size * unit
        at += segment.size
        if not segment.is_gap:
            boxes.append(Box(x, 0.0, wide, BOX * points, segment.swatch))
            if segment.text and measure(segment.text) <= wide - points / 4:
                ink = segment.swatch.ink if segment.swatch else ""
                words.append(Word(x + wide / 2, FOOT * points, segment.text, ink))
    wanted = [(left + place * unit, text) for place, text in band.marks]
    words += _beneath(wanted, width, points, measure)
    return Placed(tuple(boxes), tuple(words), height_of(band, points))


def _beneath(
    wanted: Iterable[tuple[float, str]], width: float, points: float, measure: Measure
) -> Iterator[Word]:
    """Yield the marks that have room, none over another and none outside the paper."""
    taken: list[tuple[float, float]] = []
    for middle, text in wanted:
        half = measure(text) / 2
        x = min(max(middle, half), width - half)
        first, last = x - half - points / 4, x + half + points / 4
        if all(last <= low or first >= high for low, high in taken):
            taken.append((first, last))
            yield Word(x, (FOOT + LEADING) * points, text)
