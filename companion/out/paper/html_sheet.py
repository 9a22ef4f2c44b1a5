"""The sheets as one HTML page that needs nothing else: no script, no picture, no network."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from companion.out.paper.sheet import Line, Sheet

STYLE: Final = """
:root { color-scheme: light dark; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font-size: 150%; line-height: 1.5;
  font-family: "Atkinson Hyperlegible Next", Verdana, "DejaVu Sans", sans-serif;
  color: #000; background: #fff; overflow-wrap: anywhere; }
h1, h2 { line-height: 1.2; }
a { color: inherit; }
ul { list-style: none; margin: 0; padding: 0; }
li { padding: 0.4rem 0; border-bottom: 1px solid; break-inside: avoid; }
nav li { border: 0; display: inline-block; padding: 0.25rem 1rem 0.25rem 0; }
label { display: block; padding-left: 2.2em; text-indent: -2.2em; }
input { width: 1.2em; height: 1.2em; margin: 0 1em 0 0; vertical-align: -0.2em; }
.content span { display: inline-block; text-indent: 0; margin-right: 1.2em; }
@media (prefers-color-scheme: dark) { body { color: #fff; background: #000; } }
@media print {
  body { font-size: 18pt; max-width: none; padding: 0; color: #000; background: #fff; }
  nav { display: none; }
  section { break-before: page; }
}
"""


def write_html(title: str, sheets: Sequence[Sheet]) -> str:
    """Return the sheets as a page: a heading each, a list of lines, a check box for every line."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>",
            f"<style>{STYLE}</style>",
            "</head>",
            "<body>",
            f"<header><h1>{escape(title)}</h1></header>",
            *_navigation(sheets),
            "<main>",
            *(row for sheet in sheets for row in _section(sheet)),
            "</main>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _identifier(sheet: Sheet) -> str:
    return sheet.name.replace(" ", "-")


def _navigation(sheets: Sequence[Sheet]) -> Iterator[str]:
    yield '<nav aria-label="Sheets"><ul>'
    for sheet in sheets:
        yield f'<li><a href="#{_identifier(sheet)}">{escape(sheet.title)}</a></li>'
    yield "</ul></nav>"


def _section(sheet: Sheet) -> Iterator[str]:
    name = _identifier(sheet)
    yield f'<section id="{name}" aria-labelledby="{name}-heading">'
    yield f'<h2 id="{name}-heading">{escape(sheet.title)}</h2>'
    yield from (f"<p>{escape(text)}</p>" for text in sheet.intro)
    yield "<ul>"
    yield from (_item(sheet, line) for line in sheet.lines)
    yield "</ul>"
    yield "</section>"


def _item(sheet: Sheet, line: Line) -> str:
    content = " ".join(f"<span>{escape(piece)}</span>" for piece in line.pieces)
    return (
        f'<li><label><input type="checkbox"> <strong>{escape(sheet.label(line))}:</strong> '
        f'<span class="content">{content}</span></label></li>'
    )
