"""A picture as PNG, by Pillow; title and description stand in the file as text.

The keywords "Title" and "Description" are those of the PNG specification, third edition (W3C,
2025), section 11.3.3.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

from companion.out.paper.font import REGULAR, covered
from companion.out.picture.svg import GRID, LARGE, MARK, SMALL, SQUARE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.out.picture.layout import Frame, Layout, Panel, Text

SCALE: Final = 2
"""Dots to a unit of the SVG drawing."""
SIDE: Final = SQUARE * SCALE


def write_png(title: str, words: Sequence[str], drawn: Layout) -> bytes:
    """Return a picture as a PNG file; the arguments are those of `write_svg`."""
    from PIL import Image, ImageDraw, PngImagePlugin  # noqa: PLC0415 - only wanted for a picture

    image = Image.new("RGB", (drawn.width * SIDE, drawn.height * SIDE), "white")
    pen = ImageDraw.Draw(image)
    for panel in drawn.panels:
        _panel(pen, panel)
    for frame in drawn.frames:
        _frame(pen, frame)
    _texts(pen, drawn.texts)
    told = PngImagePlugin.PngInfo()
    told.add_itxt("Title", title, lang="en")
    told.add_itxt("Description", "\n".join(words), lang="en")
    file = BytesIO()
    image.save(file, "PNG", pnginfo=told, optimize=True)
    return file.getvalue()


def _panel(pen: Any, panel: Panel) -> None:
    left, top = panel.x * SIDE, panel.y * SIDE
    for column, row in panel.filled:
        x, y = left + column * SIDE, top + row * SIDE
        pen.rectangle((x, y, x + SIDE, y + SIDE), fill="black")
    right, foot = left + panel.columns * SIDE, top + panel.rows * SIDE
    for column in range(panel.columns + 1):
        x = left + column * SIDE
        pen.line((x, top, x, foot), fill=GRID, width=SCALE)
    for row in range(panel.rows + 1):
        y = top + row * SIDE
        pen.line((left, y, right, y), fill=GRID, width=SCALE)


def _frame(pen: Any, frame: Frame) -> None:
    edge = 4 * SCALE
    left, top = frame.x * SIDE - edge, frame.y * SIDE - edge
    right = (frame.x + frame.columns) * SIDE + edge
    foot = (frame.y + frame.rows) * SIDE + edge
    if not frame.is_change:
        pen.rectangle((left, top, right, foot), outline=MARK, width=edge)
        return
    # Dashes tell a slip from the place in the walk without colour.
    for y in range(top, foot, 2 * edge + edge):
        for x in (left, right - edge):
            pen.rectangle((x, y, x + edge, min(y + 2 * edge, foot)), fill=MARK)
    for y in (top, foot - edge):
        pen.rectangle((left, y, right, y + edge), fill=MARK)


def _texts(pen: Any, texts: Sequence[Text]) -> None:
    from PIL import ImageFont  # noqa: PLC0415 - as above

    fonts = {
        is_large: ImageFont.truetype(REGULAR, size * SCALE)
        for is_large, size in ((False, SMALL), (True, LARGE))
    }
    for text in texts:
        pen.text(
            (text.x * SIDE, text.y * SIDE),
            covered(text.text),
            fill="black",
            font=fonts[text.is_large],
            anchor="ms" if text.is_centred else "ls",
        )
