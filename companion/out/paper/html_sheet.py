"""The sheets as one HTML page that needs nothing else: no script, no other file, no network."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Final

from companion.out.paper.chart import Box, Chart, Word, placed

if TYPE_CHECKING:
    from companion.out.paper.cloth import ClothPicture
    from companion.out.paper.sheet import Sheet, SheetLine

STYLE: Final = Path(__file__).parent / "pages" / "sheets.css"
"""How the page looks."""
DRAWN_WIDTH: Final = 640.0
DRAWN_POINTS: Final = 22.0
"""The measures of drawings, whose type comes out as large as the page's own where it is wide."""


def write_html(
    title: str, sheets: Sequence[Sheet], *, cloth: ClothPicture | None = None, style: str = ""
) -> str:
    """Return the sheets as a page: a heading each, a list of lines, a check box for every line.

    Args:
        title: the plan's.
        sheets: in order.
        cloth: the picture that stands after them, if any.
        style: the address of `STYLE`, for a page that may not carry its own; "" puts it in.
    """
    if style:
        styled = f'<link rel="stylesheet" href="{style}">'
    else:
        styled = f"<style>\n{STYLE.read_text('utf-8')}</style>"
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>",
            styled,
            "</head>",
            "<body>",
            f"<header><h1>{escape(title)}</h1></header>",
            *_navigation(sheets, has_cloth=cloth is not None),
            "<main>",
            *(row for sheet in sheets for row in _section(sheet)),
            *(() if cloth is None else _cloth(cloth)),
            "</main>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _identifier(sheet: Sheet) -> str:
    return sheet.name.replace(" ", "-")


def _navigation(sheets: Sequence[Sheet], *, has_cloth: bool) -> Iterator[str]:
    yield '<nav aria-label="Sheets"><ul>'
    for sheet in sheets:
        yield f'<li><a href="#{_identifier(sheet)}">{escape(sheet.title)}</a></li>'
    if has_cloth:
        yield '<li><a href="#cloth">Cloth</a></li>'
    yield "</ul></nav>"


def _cloth(cloth: ClothPicture) -> Iterator[str]:
    yield '<section id="cloth" aria-labelledby="cloth-heading">'
    yield f'<h2 id="cloth-heading">Cloth</h2><figure>{cloth.svg}</figure>'
    yield from (f"<p>{escape(line)}</p>" for line in cloth.words)
    yield "</section>"


def _section(sheet: Sheet) -> Iterator[str]:
    name = _identifier(sheet)
    yield f'<section id="{name}" aria-labelledby="{name}-heading">'
    yield f'<h2 id="{name}-heading">{escape(sheet.title)}</h2>'
    yield from (f"<p>{escape(text)}</p>" for text in (*sheet.on_screen, *sheet.intro))
    yield from (f'<p class="care">{escape(text)}</p>' for text in sheet.care)
    yield from (_figure(chart) for chart in sheet.charts)
    if sheet.lines:
        yield "<ul>"
        yield from (_item(sheet, line) for line in sheet.lines)
        yield "</ul>"
    yield "</section>"


def _figure(chart: Chart) -> str:
    """Return a chart as a drawing with its words below, in the page itself."""
    name = f"{escape(chart.name)}: {escape(chart.words)}"
    y, drawn = 2.0, []
    for band in chart.bands:
        put = placed(chart, band, DRAWN_WIDTH, DRAWN_POINTS, _measure)
        drawn += [_box(box, y) for box in put.boxes]
        drawn += [_word(word, y) for word in put.words]
        y += put.height
    return (
        f'<figure><svg class="chart" role="img" aria-label="{escape(chart.name)}" viewBox="-2 0 '
        f'{DRAWN_WIDTH + 4} {y:g}" font-size="{DRAWN_POINTS}">{"".join(drawn)}</svg>'
        f"<figcaption>{name}</figcaption></figure>"
    )


def _box(box: Box, y: float) -> str:
    fill = box.swatch.fill if box.swatch else "none"
    return (
        f'<rect x="{box.x:g}" y="{box.y + y:g}" width="{box.width:g}" height="{box.height:g}" '
        f'fill="{fill}"/>'
    )


def _word(word: Word, y: float) -> str:
    ink = f' fill="{word.ink}"' if word.ink else ""
    anchor = ' text-anchor="middle"' if word.is_centred else ""
    return f'<text x="{word.x:g}" y="{word.y + y:g}"{anchor}{ink}>{escape(word.text)}</text>'


def _measure(text: str) -> float:
    """Return about how wide a text is drawn; which typeface the reader has is not known."""
    return len(text) * 0.62 * DRAWN_POINTS


def _item(sheet: Sheet, line: SheetLine) -> str:
    content = " ".join(f"<span>{escape(piece)}</span>" for piece in line.pieces)
    return (
        f'<li><label><input type="checkbox"> <strong>{escape(sheet.label(line))}:</strong> '
        f'<span class="content">{content}</span></label></li>'
    )
