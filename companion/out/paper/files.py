"""Sheets to files: which writer a name asks for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from companion.out.paper.braille import braille
from companion.out.paper.brf import write_brf
from companion.out.paper.font import UNKNOWN, covered
from companion.out.paper.html_sheet import write_html
from companion.out.paper.pdf import LEAST_POINTS, PageSize, write_pdf

if TYPE_CHECKING:
    from companion.out.paper.cloth import ClothPicture
    from companion.out.paper.sheet import Sheet

SHEET_SUFFIXES = (".pdf", ".html", ".brf")
SOUND_SUFFIXES = (".wav", ".flac", ".mp3")
_ALWAYS_THERE = "?“"
"""Characters whose braille is the cell that also stands for what is unknown."""


class Print(NamedTuple):
    """What to print, and how large."""

    title: str
    sheets: tuple[Sheet, ...]
    points: int = LEAST_POINTS
    page: PageSize = "a4"
    cloth: Callable[[], ClothPicture | None] = lambda: None
    """Draws the picture for the page in HTML."""


def sheet_bytes(suffix: str, wanted: Print) -> bytes:
    """Return the file that a suffix asks for: .pdf, .html or .brf."""
    if suffix == ".pdf":
        return write_pdf(wanted.title, wanted.sheets, points=wanted.points, page=wanted.page)
    if suffix == ".html":
        return write_html(wanted.title, wanted.sheets, cloth=wanted.cloth()).encode()
    return write_brf(wanted.title, wanted.sheets).encode("ascii")


def unprintable(suffix: str, wanted: Print) -> str:
    """Return the letters of the plan that a kind of file cannot hold, each once."""
    letters = sorted(set("".join([wanted.title, *_texts(wanted.sheets)])))
    if suffix == ".pdf":
        return "".join(each for each in letters if covered(each) == UNKNOWN != each)
    if suffix == ".brf":
        unknown = braille("\0")
        lost = (each for each in letters if braille(each) == unknown)
        return "".join(each for each in lost if each not in _ALWAYS_THERE)
    return ""


def _texts(sheets: Sequence[Sheet]) -> list[str]:
    return [piece for sheet in sheets for line in sheet.lines for piece in line.pieces]
