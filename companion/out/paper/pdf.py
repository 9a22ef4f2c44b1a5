"""The sheets in large print, as PDF.

Large print is 18 points or more (American Printing House for the Blind, "Large print guidelines");
a sans serif face, flush left in one column, black on white, lines 1.5 apart (American Council of
the Blind, "Best practices and guidelines for large print documents", 2022). Every word on a page
has the size asked for, or a larger one. The file is tagged, so that a screen reader finds
headings, paragraphs, tables and what a drawing shows.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal

from companion.base.standing_in import Hollow, standing_in
from companion.base.uncollected import uncollected
from companion.out.paper.chart import Measure, height_of, placed
from companion.out.paper.font import BOLD, REGULAR, covered
from companion.out.paper.paging import PageRow, PageSpace, Strip, pages, wrapped
from companion.out.paper.tagged import Tree
from companion.out.picture.swatches import BLACK, WHITE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from types import ModuleType

    from fpdf import FPDF

    from companion.out.paper.chart import Band
    from companion.out.paper.paging import Block, Page
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
_DONE_WITHOUT: Final = ("numpy", "cryptography")
_NOT_USED: Final = (
    "PIL",
    "PIL.Image",
    "fontTools.subset.cff",
    "fontTools.subset.svg",
    "fontTools.varLib",
    "fpdf.html",
    "fpdf.image_parsing",
    "fpdf.svg",
    "unittest.mock",
)
"""What fpdf names at once for pictures, web pages, variable fonts and signing."""
FACE: Final = "Atkinson Hyperlegible Next"


@uncollected()  # most of what is loaded and made here stays until the end
def write_pdf(
    title: str, sheets: Sequence[Sheet], *, points: int = LEAST_POINTS, page: PageSize = "a4"
) -> bytes:
    """Return the sheets as a PDF, each on pages of its own, in type of 18 points or more."""
    if points < LEAST_POINTS:
        raise ValueError(f"expected {LEAST_POINTS} points or more, not {points}")
    return _Printer(covered(title), points, page).printed(sheets)


class _Printer:
    def __init__(self, title: str, points: int, page: PageSize) -> None:
        self._title = title
        self._points = points
        self._row = points * LEADING
        self._width, self._height = SIZES[page]
        self._room = self._width - 2 * MARGIN
        self._pdf = _document(title, SIZES[page])
        self._tree = Tree(self._pdf)
        self._regular, self._bold = self._measure(""), self._measure("B")

    def printed(self, sheets: Sequence[Sheet]) -> bytes:
        rows = (self._height - 2 * MARGIN) / self._row - HEAD_ROWS - FOOT_ROWS
        room = PageSpace(self._room, rows, GAP, self._regular, self._bold, self._band_rows)
        laid = [page for sheet in sheets for page in pages(sheet, room)]
        tables: dict[str, Any] = {}
        for number, page in enumerate(laid, start=1):
            is_first = number == 1 or laid[number - 2].sheet is not page.sheet
            self._pdf.add_page()
            self._head(page, is_first_of_all=number == 1, is_first=is_first)
            self._items(page, tables)
            self._foot(f"Page {number} of {len(laid)}")
        return bytes(self._pdf.output())

    def _measure(self, style: str, scale: float = 1.0) -> Measure:
        """Return the measure of a type: letters are set side by side, none nearer than others."""

        @cache
        def letter(sign: str) -> float:
            self._pdf.set_font(FACE, style, self._points * scale)
            return float(self._pdf.get_string_width(sign))

        return lambda text: sum(map(letter, covered(text)))

    def _band_rows(self, band: Band) -> float:
        return height_of(band, self._points) / self._row

    def _head(self, page: Page, *, is_first_of_all: bool, is_first: bool) -> None:
        """Print title and heading; those that a page repeats are nothing to read again."""
        if is_first:
            self._pdf.start_section(page.sheet.title)
        tree, y = self._tree, MARGIN + self._points
        with tree.content(tree.add("H1")) if is_first_of_all else tree.artifact():
            self._text(MARGIN, y, _first_row(self._title, self._room, self._bold), "B")
        landmark = f": {page.landmark}" if page.landmark else ""
        y += self._row * HEADING
        with tree.content(tree.add("H2")) if is_first else tree.artifact():
            heading = f"{page.sheet.title}{landmark}"
            row = _first_row(heading, self._room, self._measure("B", HEADING))
            self._text(MARGIN, y, row, "B", HEADING)
        self._rule(y + 0.4 * self._row, 2.0)

    def _foot(self, text: str) -> None:
        right = self._width - MARGIN - self._bold(text)
        with self._tree.artifact():
            self._text(right, self._height - MARGIN, text, "B")

    def _items(self, page: Page, tables: dict[str, Any]) -> None:
        """Print what is on a page, from its heading down."""
        y = MARGIN + HEAD_ROWS * self._row
        paragraph: Any = None
        figure: Any = None
        printed = 0
        for item in page.items:
            if isinstance(item, PageRow):
                if item.starts or paragraph is None:
                    paragraph = self._tree.add("P")
                with self._tree.content(paragraph):
                    self._text(MARGIN, y, item.text if item.is_last else f"{item.text} ")
                y += (1 + GAP * item.is_last) * self._row
            elif isinstance(item, Strip):
                figure = figure or self._tree.add("Figure", alt=item.chart.words)
                with self._tree.content(figure):
                    self._strip(item, y - self._points)
                y += item.rows * self._row
            else:
                if not printed:
                    self._heads(page, y, tables)
                    y += page.columns.head_rows * self._row
                elif printed % RULE_EVERY == 0:
                    self._rule(y - RULE_ABOVE * self._points, 0.75)
                self._block(page, item, y, tables[page.sheet.name])
                y += (len(item.rows) + GAP) * self._row
                printed += 1

    def _heads(self, page: Page, y: float, tables: dict[str, Any]) -> None:
        """Print the heads of the columns; only those of the sheet's first page are read."""
        name, tree = page.sheet.name, self._tree
        is_first = name not in tables
        row = None
        if is_first:
            tables[name] = tree.add("Table")
            row = tree.add("TR", tables[name])
        for x, head in page.columns.heads:
            cell = tree.add("TH", row, scope="Column") if is_first else None
            with tree.content(cell) if cell is not None else tree.artifact():
                for at, text in enumerate(head):
                    self._text(MARGIN + x, y + at * self._row, text, "B")

    def _block(self, page: Page, block: Block, y: float, table: Any) -> None:
        columns, sheet, line, tree = page.columns, page.sheet, block.line, self._tree
        row = tree.add("TR", table)
        is_one = len(columns.heads) == 1  # its name is the first row of its content
        if not block.is_continued:
            self._check_box(y)
        if not is_one:
            mark = tree.add("TH", row, scope="Row")
            if not block.is_continued:
                with tree.content(mark):
                    self._text(MARGIN + columns.number, y, sheet.mark(line), "B")
        if line.span and not columns.has_span_above:
            beside = tree.add("TD", row)
            if not block.is_continued:
                with tree.content(beside):
                    self._text(MARGIN + columns.span, y, line.span)
        with tree.content(tree.add("TD", row)):
            *others, last = block.rows
            for at, text in enumerate((*(f"{each} " for each in others), last)):
                is_name = is_one and at == 0 and not block.is_continued
                self._text(MARGIN + columns.content, y, text, "B" if is_name else "")
                y += self._row

    def _strip(self, strip: Strip, top: float) -> None:
        put = placed(strip.chart, strip.band, self._room, self._points, self._regular)
        self._pdf.set_line_width(1)
        for box in put.boxes:
            self._pdf.set_fill_color(box.swatch.fill if box.swatch else WHITE)
            self._pdf.rect(MARGIN + box.x, top + box.y, box.width, box.height, style="DF")
        for word in put.words:
            self._pdf.set_text_color(word.ink or BLACK)
            x = word.x - self._regular(word.text) / 2 if word.is_centred else word.x
            self._text(MARGIN + x, top + word.y, word.text)
        self._pdf.set_text_color(BLACK)

    def _check_box(self, y: float) -> None:
        side = 0.72 * self._points
        with self._tree.artifact():
            self._pdf.set_line_width(1.5)
            self._pdf.rect(MARGIN + 1, y - side, side, side)

    def _rule(self, y: float, width: float) -> None:
        with self._tree.artifact():
            self._pdf.set_line_width(width)
            self._pdf.line(MARGIN, y, self._width - MARGIN, y)

    def _text(self, x: float, y: float, text: str, style: str = "", scale: float = 1.0) -> None:
        self._pdf.set_font(FACE, style, self._points * scale)
        self._pdf.text(x, y, covered(text))


def _loaded() -> ModuleType:
    """Return fpdf, in half the time that it takes to load it plainly.

    What it asks for to read numbers and keys it does without where Python says, by None in its
    table, that there is none; what would read pictures and web pages is hollow meanwhile.
    """
    import fontTools  # noqa: PLC0415 - only wanted for print

    hollow = {name: Hollow(name) for name in _NOT_USED}
    hollow["fontTools.varLib"].__path__ = [f"{folder}/varLib" for folder in fontTools.__path__]
    with standing_in({**dict.fromkeys(_DONE_WITHOUT), **hollow}):
        import fpdf  # noqa: PLC0415 - only wanted for print
    return fpdf


def _document(title: str, size: tuple[float, float]) -> FPDF:
    fpdf = _loaded()
    pdf: FPDF = fpdf.FPDF(unit="pt", format=size)
    pdf.viewer_preferences = fpdf.ViewerPreferences(display_doc_title=True)
    pdf.set_auto_page_break(auto=False)
    pdf.set_title(title)
    pdf.set_lang("en")
    pdf.set_creator("companion")
    pdf.add_font(FACE, "", REGULAR)
    pdf.add_font(FACE, "B", BOLD)
    fonts: Any = pdf.fonts.values()
    for font in fonts:
        font.ttfont.recalcBBoxes = False  # no letter is drawn anew, so the box of all still holds
    return pdf


def _first_row(text: str, width: float, measure: Callable[[str], float]) -> str:
    """Return as much of a heading as fits on one row, with dots where it was longer."""
    if measure(text) <= width:
        return text
    row = next(wrapped([text], width - measure("..."), measure))
    return f"{row}..."
