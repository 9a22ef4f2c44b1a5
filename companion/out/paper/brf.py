"""The sheets as a braille file, ready to emboss.

A BRF file is Braille ASCII with lines ended by CR LF and pages by a form feed. A page has 25 lines
of 40 cells, its number at the right of the last line. A line of a sheet begins in cell 1 and its
continuation in cell 3, as "Braille Formats: Principles of Print-to-Braille Transcription" (BANA,
2016) sets lists (from memory).
"""

from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap
from typing import Final

from companion.out.paper.braille import braille
from companion.out.paper.sheet import Sheet, SheetLine

CELLS: Final = 40
LINES: Final = 25
INDENT: Final = "  "
BETWEEN_PIECES: Final = "  "
"""Two blanks, so that the finger feels where four numbers end."""
NEWLINE: Final = "\r\n"
FORM_FEED: Final = "\f"


def write_brf(title: str, sheets: Sequence[Sheet]) -> str:
    """Return the sheets as a BRF file; each begins a page, and each page names its sheet."""
    pages = [page for sheet in sheets for page in _pages(title, sheet)]
    return "".join(
        NEWLINE.join([*page, *[""] * (LINES - 1 - len(page)), _number(number)])
        + NEWLINE
        + FORM_FEED
        for number, page in enumerate(pages, start=1)
    )


def _number(page: int) -> str:
    return braille(str(page)).rjust(CELLS)


def _pages(title: str, sheet: Sheet) -> Iterator[list[str]]:
    """Yield pages of at most 24 lines; a line is kept whole where it fits on a page at all."""
    head = _head(title, sheet)
    room = LINES - 1 - len(head)
    page: list[str] = []
    for rows in _blocks(sheet):
        if page and len(page) + len(rows) > room:
            yield [*head, *page]
            page = []
        page += rows
        while len(page) > room:
            yield [*head, *page[:room]]
            page = page[room:]
    if page:
        yield [*head, *page]


def _head(title: str, sheet: Sheet) -> list[str]:
    """Return the running head, cut at a blank where it is too long, and an empty line."""
    cells = braille(f"{sheet.title}: {title}")
    if len(cells) > CELLS:
        cut = cells[: CELLS + 1].rpartition(" ")[0] or cells[:CELLS]
        cells = cut.rstrip()
    return [cells.center(CELLS).rstrip(), ""]


def _blocks(sheet: Sheet) -> Iterator[list[str]]:
    for text in sheet.told:
        yield list(_rows([text]))
    for chart in sheet.charts:
        if chart.is_told:
            yield list(_rows([chart.words]))
    if sheet.numbered not in ("line", ""):
        yield list(_rows([f"Each line begins with the number of its {sheet.numbered}."]))
    yield [""]
    for line in sheet.lines:
        yield list(_rows(_texts(sheet, line)))


def _texts(sheet: Sheet, line: SheetLine) -> Iterator[str]:
    # The kind of its number is in the opening.
    spanned = f", {sheet.span(line)}" if line.covers else ""
    yield f"{sheet.mark(line)}{spanned}:"
    yield from line.pieces


def _rows(texts: Iterable[str]) -> Iterator[str]:
    """Yield rows of at most 40 cells, broken between texts first, then between words."""
    row = ""
    for cells in filter(str.strip, map(braille, texts)):
        longer = f"{row}{BETWEEN_PIECES}{cells}" if row else cells
        if row and len(longer) > CELLS and len(INDENT + cells) <= CELLS:
            yield row
            row = INDENT + cells
        else:
            *full, row = wrap(longer, CELLS, subsequent_indent=INDENT, break_on_hyphens=False)
            yield from full
    if row:
        yield row
