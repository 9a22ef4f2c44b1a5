"""A printed sheet as a value: what every writer prints, each in its own way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from companion.base.text import plural

if TYPE_CHECKING:
    from collections.abc import Sequence

SheetName = Literal["raddle", "heddles", "threading", "sleying", "tie-up", "lift plan", "treadling"]

LONGEST_PIECE = 6
"""Numbers that stay together on a line; longer runs are printed in fours."""
_FOUR = 4


class Line(NamedTuple):
    """What is done, and ticked off, in one go."""

    number: int
    """The group's, shaft's or treadle's own number; of other lines a running one."""
    span: str
    """What the line covers, "17 to 24"; "" where the number says it."""
    pieces: tuple[str, ...]
    """The content in order; a writer breaks lines between pieces rather than inside one."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a plan."""

    name: SheetName
    numbered: str
    """What a line's number counts, "group"."""
    spanned: str
    """What a line's span counts, "end"; "" where no line has a span."""
    content: str
    """What the pieces are, "shafts"."""
    intro: tuple[str, ...]
    """Sentences on where to begin and how to read the lines."""
    lines: tuple[Line, ...]

    @property
    def title(self) -> str:
        """The name as a heading."""
        return self.name.capitalize()

    def label(self, line: Line) -> str:
        """Return how a line is called, "Group 3, ends 17 to 24"."""
        span = f", {self.span(line)}" if line.span else ""
        return f"{self.numbered.capitalize()} {line.number}{span}"

    def span(self, line: Line) -> str:
        """Return what a line runs over, "ends 17 to 24"; it must have a span."""
        return f"{self.spanned if line.span.isdigit() else plural(self.spanned)} {line.span}"


def pieces(numbers: Sequence[object]) -> tuple[str, ...]:
    """Return a run as pieces: as one where it is short, else in fours."""
    words = [str(number) for number in numbers]
    size = len(words) if len(words) <= LONGEST_PIECE else _FOUR
    return tuple(" ".join(words[at : at + size]) for at in range(0, len(words), size or 1))
