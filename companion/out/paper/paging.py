"""Sheets broken into rows and pages, whatever the typeface: the measures are handed in."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from companion.base.text import span
from companion.base.value import Value
from companion.out.paper.chart import Band, Chart, Measure
from companion.out.paper.sheet import Heading, Row, Sheet, SheetLine

BETWEEN_PIECES = " " * 5
BETWEEN_NUMBERS = " " * 2
"""One space would let "1 2" be taken for 12."""
LEAST_CONTENT = 0.45
"""The part of a row's width that the content must keep; else its span moves above it."""
HEAD_GAP = 0.3
"""Below the heads of the columns, in rows."""


class Columns(NamedTuple):
    """Where the columns of a sheet begin, from the left margin."""

    number: float
    span: float
    content: float
    width: float
    """The content's."""
    has_span_above: bool
    """Whether the span, or the name of a line without a number, is the first row of the content,
    having no column of its own."""
    heads: tuple[tuple[float, tuple[str, ...]], ...]
    """Where what stands above each of them begins, and its rows; the check box has none."""

    @property
    def head_rows(self) -> float:
        """Rows that the heads take, with the gap below them."""
        return max(len(rows) for _, rows in self.heads) + HEAD_GAP


class PageRow(NamedTuple):
    """A row of the introduction."""

    text: str
    is_last: bool
    """Whether a gap is below it."""
    starts: bool
    """Whether a sentence group begins with it, rather than goes on."""


class Strip(NamedTuple):
    """A band of a chart."""

    chart: Chart
    band: Band
    rows: float


class Block(NamedTuple):
    """A line as printed: its number beside the first row."""

    line: SheetLine
    rows: tuple[str, ...]
    is_continued: bool = False
    """Whether it goes on from the page before."""


Item = PageRow | Strip | Block


class Page(Value):
    """One page of one sheet."""

    sheet: Sheet
    columns: Columns
    items: tuple[Item, ...]
    """In order; blocks come last."""

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Return the lines on the page."""
        return tuple(item for item in self.items if isinstance(item, Block))

    @property
    def landmark(self) -> str:
        """What is on the page, "groups 3 to 9"; "" where no line is, or none has a number."""
        blocks = self.blocks
        if not blocks or not self.sheet.numbered:
            return ""
        return span(self.sheet.numbered, blocks[0].line.number, blocks[-1].line.number)


class PageSpace(NamedTuple):
    """What a page holds."""

    width: float
    rows: float
    """Rows of text below the heading."""
    gap: float
    """Between two lines, in rows."""
    regular: Measure
    bold: Measure
    band_rows: Callable[[Band], float]
    """How many rows a band takes."""


def pages(sheet: Sheet, room: PageSpace) -> Iterator[Page]:
    """Yield a sheet's pages; a line is kept whole where it fits on a page at all."""
    columns = columns_of(sheet, room)
    items: list[Item] = []
    left = room.rows
    for item in _items(sheet, columns, room):
        needed = _rows_of(item, room.gap, columns, items)
        if items and needed - room.gap > left:
            yield Page(sheet, columns, tuple(items))
            items, left = [], room.rows
            needed = _rows_of(item, room.gap, columns, items)
        items.append(item)
        left -= needed
    if items:
        yield Page(sheet, columns, tuple(items))


def _rows_of(item: Item, gap: float, columns: Columns, before: Sequence[Item]) -> float:
    """Return the rows an item takes with the gap below it, and the heads that it may need."""
    if isinstance(item, PageRow):
        return 1 + (gap if item.is_last else 0)
    if isinstance(item, Strip):
        return item.rows
    is_first = not before or not isinstance(before[-1], Block)
    return len(item.rows) + gap + (columns.head_rows if is_first else 0)


def _items(sheet: Sheet, columns: Columns, room: PageSpace) -> Iterator[Item]:
    for text in (*sheet.on_screen, *sheet.told):
        rows = list(wrapped([text], room.width, room.regular))
        for at, row in enumerate(rows):
            yield PageRow(row, is_last=at == len(rows) - 1, starts=at == 0)
    for chart in sheet.charts:
        yield from (Strip(chart, band, room.band_rows(band)) for band in chart.bands)
    yield from _blocks(sheet, columns, room)


def columns_of(sheet: Sheet, room: PageSpace) -> Columns:
    """Return the columns that fit the widest number, span and head of a sheet."""
    width, bold = room.width, room.bold
    space = room.regular("  ")
    number = bold("0") + 2 * space  # the check box stands before it
    first, *others, last = sheet.heads
    numbers = max((bold(sheet.mark(line)) for line in sheet.lines), default=0.0)
    span = max(number + numbers, bold(first)) + 2 * space  # the first head is over both
    spans = max((room.regular(line.span) for line in sheet.lines), default=0.0)
    spans = max([spans, *map(bold, others)]) if spans else 0.0
    content = span + (spans + 2 * space if spans else 0.0)
    is_narrow = width - content < LEAST_CONTENT * width
    has_span_above = is_narrow and (bool(spans) or not sheet.numbered)
    if has_span_above:
        content = span if sheet.numbered else number
    is_one = has_span_above and not sheet.numbered
    heads: list[tuple[float, tuple[str, ...]]] = [] if is_one else [(0.0, (first,))]
    heads += [(span, (each,)) for each in others if spans and not has_span_above]
    heads.append((content, tuple(wrapped([last], width - content, bold))))
    return Columns(number, span, content, width - content, has_span_above, tuple(heads))


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


def _blocks(sheet: Sheet, columns: Columns, room: PageSpace) -> Iterator[Block]:
    most = max(1, int(room.rows - columns.head_rows - room.gap))
    for line in sheet.lines:
        rows = tuple(_rows(sheet, line, columns, room.regular))
        for at in range(0, len(rows), most):
            yield Block(line, rows[at : at + most], is_continued=at > 0)


def _rows(sheet: Sheet, line: SheetLine, columns: Columns, measure: Measure) -> Iterable[str]:
    if columns.has_span_above:
        yield from wrapped([sheet.span(line)], columns.width, measure)
    yield from wrapped(list(_together(line.pieces)), columns.width, measure)


def _together(pieces: Iterable[str]) -> Iterator[str]:
    """Yield the pieces, each heading joined to the numbers it stands before."""
    heading: list[str] = []
    for piece in pieces:
        if isinstance(piece, Row):
            yield " ".join([*heading, piece.replace(" ", BETWEEN_NUMBERS)])
            heading = []
            continue
        yield from heading
        heading = [piece] if isinstance(piece, Heading) else []
        if not heading:
            yield piece
    yield from heading
