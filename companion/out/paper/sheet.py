"""A printed sheet as a value: what every writer prints, each in its own way."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from companion.base.text import from_to, plural, span, uncapital
from companion.base.value import Value
from companion.out.paper.chart import Chart

SheetName = Literal[
    "before you begin", "warp", "winding", "winding of the second warp",
    "sections of the beam", "raddle",
    "raddle for the second warp", "heddles", "threading", "sleying", "tie-up",
    "lift plan", "peg list", "treadling",
]  # fmt: skip

LONGEST_PIECE = 6
"""Numbers that stay together on a line; longer runs are printed in fours."""
_FOUR = 4


class Row(str):
    """A piece that is numbers with a blank between them."""

    __slots__ = ()


class Heading(str):
    """A piece that says what the numbers after it belong to, "white:"."""

    __slots__ = ()


class SheetLine(NamedTuple):
    """What is done, and ticked off, in one go."""

    number: int
    """The group's, shaft's or treadle's own number; of other lines a running one."""
    covers: tuple[int, int] | None
    """The first and the last of what the line covers; None where the number says it."""
    pieces: tuple[str, ...]
    """The content in order; a writer breaks lines between pieces rather than inside one."""
    name: str = ""
    """On a sheet whose lines have no numbers, "Length"."""

    @property
    def span(self) -> str:
        """What it covers in words, "17 to 24"; "" where the number says it."""
        return from_to(*self.covers) if self.covers else ""


class Sheet(Value):
    """One sheet of a plan."""

    name: SheetName
    numbered: str = ""
    """What a line's number counts, "group"; "" where lines have names instead of numbers."""
    spanned: str = ""
    """What a line's span counts, "end"; "" where no line has a span."""
    content: str = ""
    """What the pieces are, "shafts"."""
    intro: tuple[str, ...] = ()
    """Sentences on where to begin and how to read the lines."""
    lines: tuple[SheetLine, ...] = ()

    cautions: tuple[str, ...] = ()
    """What may hurt in this work."""
    charts: tuple[Chart, ...] = ()
    """Drawings between the introduction and the lines."""
    on_screen: tuple[str, ...] = ()
    """Sentences for whoever has the sheet on a screen."""

    @property
    def title(self) -> str:
        """The name as a heading."""
        return self.name.capitalize()

    @property
    def told(self) -> tuple[str, ...]:
        """The introduction, and the cautions after it."""
        return *self.intro, *self.care

    @property
    def care(self) -> tuple[str, ...]:
        """The cautions, each told as one."""
        return tuple(f"Take care: {uncapital(each)}" for each in self.cautions)

    @property
    def heads(self) -> tuple[str, ...]:
        """What stands above the columns."""
        if not self.numbered:
            return "What", "How much"
        spans = (plural(self.spanned).capitalize(),) if self.spanned else ()
        return self.numbered.capitalize(), *spans, self.content.capitalize()

    def mark(self, line: SheetLine) -> str:
        """Return what a line begins with, "3" or "Length"."""
        return str(line.number) if self.numbered else line.name

    def label(self, line: SheetLine) -> str:
        """Return how a line is called, "Group 3, ends 17 to 24" or "Length"."""
        if not self.numbered:
            return line.name
        covered = f", {self.span(line)}" if line.covers else ""
        return f"{self.numbered.capitalize()} {line.number}{covered}"

    def span(self, line: SheetLine) -> str:
        """Return what a line runs over, "ends 17 to 24", or its name; it must have a span."""
        return span(self.spanned, *line.covers) if line.covers else line.name


def pieces(numbers: Sequence[object]) -> tuple[Row, ...]:
    """Return a run as pieces: as one where it is short, else in fours."""
    words = [str(number) for number in numbers]
    size = len(words) if len(words) <= LONGEST_PIECE else _FOUR
    return tuple(Row(" ".join(words[at : at + size])) for at in range(0, len(words), size or 1))
