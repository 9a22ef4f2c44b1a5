"""A printed sheet as a value: what every writer prints, each in its own way."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from companion.base.text import plural, uncapital
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


class SheetLine(NamedTuple):
    """What is done, and ticked off, in one go."""

    number: int
    """The group's, shaft's or treadle's own number; of other lines a running one."""
    span: str
    """What the line covers, "17 to 24"; "" where the number says it; on a sheet whose lines have
    no numbers the line's name."""
    pieces: tuple[str, ...]
    """The content in order; a writer breaks lines between pieces rather than inside one."""


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
        return str(line.number) if self.numbered else line.span

    def beside(self, line: SheetLine) -> str:
        """Return what stands after its mark, "17 to 24"; "" for nothing."""
        return line.span if self.numbered else ""

    def label(self, line: SheetLine) -> str:
        """Return how a line is called, "Group 3, ends 17 to 24" or "Length"."""
        if not self.numbered:
            return line.span
        span = f", {self.span(line)}" if line.span else ""
        return f"{self.numbered.capitalize()} {line.number}{span}"

    def span(self, line: SheetLine) -> str:
        """Return what a line runs over, "ends 17 to 24", or its name; it must have a span."""
        if not self.numbered:
            return line.span
        return f"{self.spanned if line.span.isdigit() else plural(self.spanned)} {line.span}"


def pieces(numbers: Sequence[object]) -> tuple[str, ...]:
    """Return a run as pieces: as one where it is short, else in fours."""
    words = [str(number) for number in numbers]
    size = len(words) if len(words) <= LONGEST_PIECE else _FOUR
    return tuple(" ".join(words[at : at + size]) for at in range(0, len(words), size or 1))
