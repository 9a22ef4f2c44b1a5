"""Sheets broken into rows and pages, whatever the typeface: the measures are handed in."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from companion.base.text import span

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from companion.out.paper.sheet import Line, Sheet

Measure = Callable[[str], float]
"""The printed width of a text, in the unit of all widths here."""

BETWEEN_PIECES = " " * 5
BETWEEN_NUMBERS = " " * 2
"""One space would let "1 2" be taken for 12."""
DIGITS = frozenset("(0123456789")
LEAST_CONTENT = 0.45
"""The part of a row's width that the content must keep; else its span moves above it."""


class Columns(NamedTuple):
    """Where the columns of a sheet begin, from the left margin."""

    number: float
    span: float
    content: float
    width: float
    """The content's."""
    has_span_above: bool
    """Whether the span is the first row of the content, having no column of its own."""


class Block(NamedTuple):
    """A line as printed: its number beside the first row."""

    line: Line
    rows: tuple[str, ...]
    is_continued: bool = False
    """Whether it goes on from the page before."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page of one sheet."""

    sheet: Sheet
    columns: Columns
    intro: tuple[str, ...]
    """Rows; empty but on a sheet's first page."""
    blocks: tuple[Block, ...]

    @property
    def landmark(self) -> str:
        """What is on the page, "groups 3 to 9"; "" where it is empty."""
        if not self.blocks:
            return ""
        first, last = self.blocks[0].line.number, self.blocks[-1].line.number
        return span(self.sheet.numbered, first, last)


class Room(NamedTuple):
    """What a page holds."""

    width: float
    rows: float
    """Rows of text below the heading."""
    gap: float
    """Between two lines, in rows."""


def pages(sheet: Sheet, room: Room, measure: Measure, bold: Measure) -> Iterator[Page]:
    """Yield a sheet's pages; a line is kept whole where it fits on a page at all."""
    columns = columns_of(sheet, room.width, measure, bold)
    intro = tuple(row for text in sheet.intro for row in wrapped([text], room.width, measure))
    blocks: list[Block] = []
    left = room.rows - len(intro) - (room.gap if intro else 0)
    for block in _blocks(sheet, columns, room, measure):
        needed = len(block.rows) + room.gap
        if needed - room.gap > left and (blocks or intro):
            yield Page(sheet, columns, intro, tuple(blocks))
            blocks, intro, left = [], (), room.rows
        blocks.append(block)
        left -= needed
    yield Page(sheet, columns, intro, tuple(blocks))


def columns_of(sheet: Sheet, width: float, measure: Measure, bold: Measure) -> Columns:
    """Return the columns that fit the widest number and span of a sheet."""
    space = measure("  ")
    number = bold("0") + 2 * space  # the check box stands before it
    span = number + max((bold(str(line.number)) for line in sheet.lines), default=0.0) + 2 * space
    spans = max((measure(line.span) for line in sheet.lines), default=0.0)
    content = span + (spans + 2 * space if spans else 0.0)
    has_span_above = bool(spans) and width - content < LEAST_CONTENT * width
    content = span if has_span_above else content
    return Columns(number, span, content, width - content, has_span_above)


def wrapped(texts: Sequence[str], width: float, measure: Measure) -> Iterator[str]:
    """Yield rows of texts, broken between texts first, then at spaces, then inside a word."""
    row = ""
    for text in texts:
        longer = f"{row}{BETWEEN_PIECES}{text}" if row else text
        if measure(longer) <= width:
            row = longer
            continue
        if row:
            yield row
        *full, row = _at_spaces(text, width, measure)
        yield from full
    if row:
        yield row


def _at_spaces(text: str, width: float, measure: Measure) -> list[str]:
    rows = [""]
    for gap, word in re.findall(r"( *)([^ ]+)", text):
        longer = f"{rows[-1]}{gap}{word}" if rows[-1] else word
        if measure(longer) <= width:
            rows[-1] = longer
        else:
            rows += _inside(word, width, measure)
    return [row for row in rows if row] or [""]


def _inside(word: str, width: float, measure: Measure) -> Iterator[str]:
    part = ""
    for character in word:
        if part and measure(part + character) > width:
            yield part
            part = ""
        part += character
    yield part


def _blocks(sheet: Sheet, columns: Columns, room: Room, measure: Measure) -> Iterator[Block]:
    most = max(1, int(room.rows - room.gap))
    for line in sheet.lines:
        rows = tuple(_rows(sheet, line, columns, measure))
        for at in range(0, len(rows), most):
            yield Block(line, rows[at : at + most], is_continued=at > 0)


def _rows(sheet: Sheet, line: Line, columns: Columns, measure: Measure) -> Iterable[str]:
    if columns.has_span_above:
        yield from wrapped([sheet.span(line)], columns.width, measure)
    yield from wrapped(list(_together(line.pieces)), columns.width, measure)


def _together(pieces: Iterable[str]) -> Iterator[str]:
    """Yield the pieces, each heading joined to the numbers it stands before."""
    heading = ""
    for piece in pieces:
        if heading and piece[0] in DIGITS:
            yield f"{heading} {_spread(piece)}"
            heading = ""
            continue
        if heading:
            yield heading
        heading = piece if piece.endswith(":") else ""
        if not heading:
            yield _spread(piece)
    if heading:
        yield heading


def _spread(piece: str) -> str:
    return re.sub(r"(?<=[0-9)]) (?=[0-9(])", BETWEEN_NUMBERS, piece)
