"""The large-print PDF read back: every end, at the size asked for, on pages that say where."""

from __future__ import annotations

import re
import shutil
import subprocess
from functools import cache
from io import BytesIO
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from paper_plans import NAMES, bracketed, demo, dents_of, doubled_of, numbers, shafts_of
from PIL import Image
from pypdf import PdfReader

from companion.out.paper.font import covered
from companion.out.paper.paging import PageSpace, pages
from companion.out.paper.pdf import write_pdf
from companion.out.paper.sheet import Sheet, SheetLine
from companion.out.paper.sheets import sheets

if TYPE_CHECKING:
    from pathlib import Path


NAME = re.compile(
    r"(Before you begin|Warp|Winding|Raddle|Heddles|Threading|Sleying|Tie-up|Treadling)\b"
)


class Word(NamedTuple):
    """A text as drawn."""

    x: float
    y: float
    size: float
    text: str


def words_of(page: Any) -> list[Word]:
    """Return what a page draws, in the order of drawing."""
    found: list[Word] = []

    def visit(text: str, _cm: Any, tm: list[float], _font: Any, size: float) -> None:
        if text.strip():
            found.append(Word(tm[4], tm[5], size, text.strip("\n")))

    page.extract_text(visitor_text=visit)
    return found


def content_of(drawn: list[list[Word]], name: str, head: str) -> str:
    """Return the content column of a sheet's pages: what stands below its head.

    A head too long for its column goes on in the row below it, in the same place.
    """
    rows: list[str] = []
    for _title, heading, *body, _foot in drawn:
        if not heading.text.startswith(f"{name.capitalize()}:"):
            continue
        at = next(n for n, word in enumerate(body) if head.startswith(word.text.strip()))
        column = [word.text.strip() for word in body[at:] if abs(word.x - body[at].x) < 0.1]
        below = head
        while below and below.startswith(column[0]):
            below = below.removeprefix(column.pop(0)).strip()
        rows += column
    return "  ".join(rows)


@cache
def printed(name: str, points: int) -> PdfReader:
    dressing = demo(name)
    return PdfReader(BytesIO(write_pdf(dressing.title, sheets(dressing), points=points)))


SIZES = [(name, 18) for name in NAMES]
SIZES += [(name, points) for name in ("many-shafts", "striped-towels") for points in (24, 32)]
"""Every plan in the usual size, the longest and the one of the most colours in all of them."""


@pytest.mark.parametrize(("name", "points"), SIZES)
def test_every_end_and_dent_is_printed_in_order(name: str, points: int) -> None:
    """The PDF's own text, read back by pypdf, gives shafts and dents end by end."""
    dressing = demo(name)
    drawn = [words_of(page) for page in printed(name, points).pages]
    threading = content_of(drawn, "threading", "Shafts")
    # A span that had to move above its content is no shaft.
    threading = re.sub(r"\bends? \d+( (to|and) \d+)?", "", threading)
    assert numbers(threading) == shafts_of(dressing)
    assert bracketed(threading) == doubled_of(dressing)
    sleying = re.sub(
        r"\bdents? \d+( (to|and) \d+)?", "", content_of(drawn, "sleying", "Ends in each dent")
    )
    assert numbers(sleying.replace("floating selvedge", "1")) == dents_of(dressing)


@pytest.mark.parametrize("points", [18, 32])
def test_no_word_is_smaller_than_asked(points: int) -> None:
    """Large print is 18 points or more (APH): every text drawn has the size asked for, or more."""
    for page in printed("lattice-scarf", points).pages:
        assert min(word.size for word in words_of(page)) >= points


@pytest.mark.parametrize("points", [18, 32])
def test_rows_are_one_and_a_half_sizes_apart(points: int) -> None:
    """American Council of the Blind, "Best practices and guidelines for large print documents"."""
    for page in printed("striped-towels", points).pages:
        heights = sorted({round(word.y, 2) for word in words_of(page)})
        apart = [after - before for before, after in pairwise(heights)]
        assert min(apart) >= 1.5 * points - 0.01


def test_pages_say_where_they_are() -> None:
    """Each page has the plan's title, its sheet with what is on it, and page n of m."""
    pdf = printed("herringbone-scarf", 18)
    assert len(pdf.pages) > 2
    for number, page in enumerate(pdf.pages, start=1):
        title, heading, *_, foot = words_of(page)
        assert title.text == "Herringbone scarf"
        assert NAME.match(heading.text)
        assert foot.text == f"Page {number} of {len(pdf.pages)}"
    assert [str(item["/Title"]) for item in pdf.outline if isinstance(item, dict)] == [
        sheet.title for sheet in sheets(demo("herringbone-scarf"))
    ]


def test_the_groups_of_the_heading_are_those_on_the_page() -> None:
    """The landmark at the head names the first and the last group printed below it."""
    for page in printed("striped-towels", 18).pages:
        _, heading, *body, _foot = words_of(page)
        found = re.search(r"groups (\d+) (?:to|and) (\d+)$", heading.text)
        if found:
            bold = [int(word.text) for word in body if word.text.isdigit()]
            assert int(found[1]) in bold
            assert int(found[2]) in bold


def test_the_file_is_whole_in_itself() -> None:
    """Its language is told and the typeface is inside, so that it prints alike everywhere."""
    pdf = printed("first-try", 18)
    assert pdf.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]
    assert pdf.metadata is not None
    assert pdf.metadata.title == "First try, a narrow band"
    for font in pdf.pages[0]["/Resources"]["/Font"].values():  # type: ignore[index]
        (inner,) = font.get_object()["/DescendantFonts"]
        assert "/FontFile2" in inner.get_object()["/FontDescriptor"].get_object()


@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler-utils is not installed")
@pytest.mark.parametrize("points", [18, 32])
def test_digits_are_as_high_on_paper_as_their_size_asks(points: int, tmp_path: Path) -> None:
    """Rendered by poppler at 300 dots an inch, a digit has the typeface's 668 thousandths."""
    sheet = Sheet("tie-up", "treadle", "", "shafts", (), (SheetLine(1, None, ("1 1 1",)),))
    (tmp_path / "one.pdf").write_bytes(write_pdf("Title", [sheet], points=points))
    subprocess.run(
        ["pdftoppm", "-r", "300", "-png", "-singlefile", tmp_path / "one.pdf", tmp_path / "one"],
        check=True,
        timeout=60,
    )
    with Image.open(tmp_path / "one.png") as image:
        paper = image.convert("L")
    below = round((54 + 6 * points) * 300 / 72)  # under the heading and the heads of the columns
    band = paper.crop((paper.width // 6, below, paper.width, paper.height // 2))
    box = band.point(lambda dot: 255 if dot < 128 else 0).getbbox()
    assert box is not None
    height = (box[3] - box[1]) * 72 / 300
    assert height == pytest.approx(0.668 * points, abs=0.4)
    assert paper.getextrema() == (0, 255)  # black on white


def test_less_than_large_print_is_refused() -> None:
    """Below 18 points it would not be large print."""
    with pytest.raises(ValueError, match="18 points or more"):
        write_pdf("Title", sheets(demo("first-try")), points=12)


def test_names_of_any_length_and_script_are_printed() -> None:
    """Long names wrap inside the page; letters the typeface lacks become question marks."""
    long = "indigo" * 10
    line = SheetLine(1, (1, 4), (f"{long}:", "1 2 3 4", "1 2 3 4"))
    sheet = Sheet("threading", "group", "ends", "shafts", ("An 織 intro.",), (line,) * 40)
    pdf = PdfReader(BytesIO(write_pdf("Çatal Höyük 織物 " * 6, [sheet], points=32)))
    for page in pdf.pages:
        title, *_ = words_of(page)
        assert title.text.startswith("Çatal Höyük ?? Çatal")
        assert title.text.endswith("...")
    drawn = [words_of(page) for page in pdf.pages]
    assert numbers(content_of(drawn, "threading", "Shafts").replace(long, "")).count(4) >= 80


def test_letters_outside_the_typeface_keep_their_base() -> None:
    """A letter with a mark the face lacks loses the mark; another script becomes "?"."""
    assert covered("Ångström ẓ 織") == "Ångström z ?"


def test_a_group_longer_than_a_page_goes_on() -> None:
    """No row is lost where one group does not fit on a page."""
    line = SheetLine(7, (1, 400), tuple(f"{number}" for number in range(400)))
    sheet = Sheet("threading", "group", "ends", "shafts", (), (line,))
    laid = list(pages(sheet, PageSpace(100.0, 10.0, 0.5, len, len, lambda _: 1.0)))
    rows = [row for page in laid for block in page.blocks for row in block.rows]
    assert len(laid) > 1
    assert [int(word) for row in rows for word in row.split()] == list(range(400))
    assert [block.is_continued for page in laid for block in page.blocks][:2] == [False, True]
