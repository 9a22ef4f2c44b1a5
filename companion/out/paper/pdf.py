"""The sheets in large print, as PDF.

Large print is 18 points or more (American Printing House for the Blind, "Large print guidelines");
a sans serif face, flush left in one column, black on white, lines 1.5 apart (American Council of
the Blind, "Best practices and guidelines for large print documents", 2022). Every word on a page
has the size asked for, or a larger one.
"""

from __future__ import annotations

import gc
import sys
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from companion.out.paper.font import BOLD, REGULAR, covered
from companion.out.paper.paging import Room, pages, wrapped

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from types import ModuleType

    from fpdf import FPDF

    from companion.out.paper.paging import Block, Measure, Page
    from companion.out.paper.sheet import Sheet

PageSize = Literal["a4", "letter"]

LEAST_POINTS: Final = 18
SIZES: Final = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
"""Width and height in points of 1/72 inch: ISO 216 and ANSI Y14.1."""
MARGIN: Final = 54.0
LEADING: Final = 1.5
"""From one row's baseline to the next, in sizes of the type, as the guideline asks."""
GAP: Final = 0.35
"""Between two lines of a sheet, in rows."""
HEADING: Final = 1.2
"""Size of a page's heading, in sizes of the type."""
HEAD_ROWS: Final = 3.2
"""Rows taken by title, heading and rule."""
FOOT_ROWS: Final = 1.4
RULE_EVERY: Final = 5
"""Lines between two thin rules, which guide the eye back to its place."""
RULE_ABOVE: Final = 1.1
"""From such a rule down to the next baseline, in sizes of the type."""
FACE: Final = "Atkinson Hyperlegible Next"


def write_pdf(
    title: str, sheets: Sequence[Sheet], *, points: int = LEAST_POINTS, page: PageSize = "a4"
) -> bytes:
    """Return the sheets as a PDF file, each beginning on a page of its own.

    Args:
        title: the plan's.
        sheets: what to print, in order.
        points: size of the type, 18 or more.
        page: size of the paper.
    """
    if points < LEAST_POINTS:
        raise ValueError(f"expected {LEAST_POINTS} points or more, not {points}")
    return _Printer(covered(title), points, page).printed(sheets)


class _Printer:
    def __init__(self, title: str, points: int, page: PageSize) -> None:
        self._title = title
        self._points = points
        self._row = points * LEADING
        self._width, self._height = SIZES[page]
        self._pdf = _document(title, SIZES[page])

    def printed(self, sheets: Sequence[Sheet]) -> bytes:
        regular, bold = self._measure(""), self._measure("B")
        height = self._height - 2 * MARGIN
        rows = height / self._row - HEAD_ROWS - FOOT_ROWS
        room = Room(self._width - 2 * MARGIN, rows, GAP)
        laid = [page for sheet in sheets for page in pages(sheet, room, regular, bold)]
        for number, page in enumerate(laid, start=1):
            is_first = number == 1 or laid[number - 2].sheet is not page.sheet
            self._print(page, is_first=is_first)
            self._foot(f"Page {number} of {len(laid)}")
        return bytes(self._pdf.output())

    def _measure(self, style: str, scale: float = 1.0) -> Measure:
        @cache
        def measure(text: str) -> float:
            self._pdf.set_font(FACE, style, self._points * scale)
            return float(self._pdf.get_string_width(covered(text)))

        return measure

    def _print(self, page: Page, *, is_first: bool) -> None:
        self._pdf.add_page()
        if is_first:
            self._pdf.start_section(page.sheet.title)
        self._head(page)
        y = MARGIN + HEAD_ROWS * self._row
        for row in page.intro:
            self._text(MARGIN, y, row)
            y += self._row
        y += GAP * self._row if page.intro else 0
        for place, block in enumerate(page.blocks, start=1):
            self._block(page, block, y)
            y += (len(block.rows) + GAP) * self._row
            if place % RULE_EVERY == 0 and place < len(page.blocks):
                self._rule(y - RULE_ABOVE * self._points, 0.75)

    def _head(self, page: Page) -> None:
        room = self._width - 2 * MARGIN
        y = MARGIN + self._points
        self._text(MARGIN, y, _first_row(self._title, room, self._measure("B")), "B")
        landmark = f": {page.landmark}" if page.landmark else ""
        heading = f"{page.sheet.title}{landmark}"
        y += self._row * HEADING
        row = _first_row(heading, room, self._measure("B", HEADING))
        self._text(MARGIN, y, row, "B", HEADING)
        self._rule(y + 0.4 * self._row, 2.0)

    def _foot(self, text: str) -> None:
        right = self._width - MARGIN - self._measure("B")(text)
        self._text(right, self._height - MARGIN, text, "B")

    def _block(self, page: Page, block: Block, y: float) -> None:
        columns = page.columns
        if not block.is_continued:
            self._check_box(y)
            self._text(MARGIN + columns.number, y, str(block.line.number), "B")
            if block.line.span and not columns.has_span_above:
                self._text(MARGIN + columns.span, y, block.line.span)
        for row in block.rows:
            self._text(MARGIN + columns.content, y, row)
            y += self._row

    def _check_box(self, y: float) -> None:
        side = 0.72 * self._points
        self._pdf.set_line_width(1.5)
        self._pdf.rect(MARGIN + 1, y - side, side, side)

    def _rule(self, y: float, width: float) -> None:
        self._pdf.set_line_width(width)
        self._pdf.line(MARGIN, y, self._width - MARGIN, y)

    def _text(self, x: float, y: float, text: str, style: str = "", scale: float = 1.0) -> None:
        self._pdf.set_font(FACE, style, self._points * scale)
        self._pdf.text(x, y, covered(text))


def _loaded() -> ModuleType:
    """Return fpdf, in little more than half the time that it takes to load it plainly.

    It asks for numpy for the pixels of pictures alone, and does without where Python says, by
    None in its table, that there is none.
    """
    is_missing = "numpy" not in sys.modules
    was_on = gc.isenabled()
    gc.disable()  # what is loaded stays; looking through it for waste would take a while
    if is_missing:
        sys.modules["numpy"] = None  # type: ignore[assignment]
    try:
        import fpdf  # noqa: PLC0415 - only wanted for print
    finally:
        if is_missing:
            del sys.modules["numpy"]
        if was_on:
            gc.enable()
    return fpdf


def _document(title: str, size: tuple[float, float]) -> FPDF:
    pdf: FPDF = _loaded().FPDF(unit="pt", format=size)
    pdf.set_auto_page_break(auto=False)
    pdf.set_title(title)
    pdf.set_lang("en")
    pdf.set_creator("companion")
    pdf.add_font(FACE, "", REGULAR)
    pdf.add_font(FACE, "B", BOLD)
    return pdf


def _first_row(text: str, width: float, measure: Callable[[str], float]) -> str:
    """Return as much of a heading as fits on one row, with dots where it was longer."""
    if measure(text) <= width:
        return text
    row = next(wrapped([text], width - measure("..."), measure))
    return f"{row}..."
