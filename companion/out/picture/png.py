"""A picture as PNG, by Pillow; title and description stand in the file as text.

The keywords "Title" and "Description" are those of the PNG specification, third edition (W3C,
2025), section 11.3.3.
"""

from collections.abc import Sequence
from functools import cache
from io import BytesIO
from typing import Any, Final

from companion.out.paper.font import BOLD, REGULAR, covered
from companion.out.picture.layout import SIZES, Colours, Crossing, Frame, Layout, Panel, Size, Text
from companion.out.picture.svg import EDGE_WIDTH, GRID, MARK, MARK_WIDTH, SQUARE
from companion.out.picture.swatches import MARK_SHAPES, edges

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
    for colours in drawn.colours:
        _colours(pen, colours)
    for frame in drawn.frames:
        _frame(pen, frame)
    for text in drawn.texts:
        _write(pen, text, "black")
    told = PngImagePlugin.PngInfo()
    told.add_itxt("Title", title, lang="en")
    told.add_itxt("Description", "\n".join(words), lang="en")
    file = BytesIO()
    image.save(file, "PNG", pnginfo=told)
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


def _colours(pen: Any, colours: Colours) -> None:
    for square in colours.squares:
        x, y = (colours.x + square.column) * SIDE, (colours.y + square.row) * SIDE
        outline = GRID if colours.name == "key" else None
        pen.rectangle((x, y, x + SIDE - 1, y + SIDE - 1), fill=square.swatch.fill, outline=outline)
        if square.way == "letter":
            across, down = colours.x + square.column + 0.5, colours.y + square.row + 0.8
            _write(pen, Text(across, down, square.swatch.letter), square.swatch.ink)
        else:
            _thread(pen, square, x, y)
    if colours.name != "key":
        left, top = colours.x * SIDE, colours.y * SIDE
        right, foot = left + colours.columns * SIDE, top + colours.rows * SIDE
        pen.rectangle((left, top, right, foot), outline=GRID, width=SCALE)


def _thread(pen: Any, square: Crossing, x: int, y: int) -> None:
    ink = square.swatch.ink
    shapes = [(shape, EDGE_WIDTH) for shape in edges(square.way)]
    shapes += [(shape, MARK_WIDTH) for shape in MARK_SHAPES[square.swatch.mark]]
    for shape, width in shapes:
        points = [(x + across * SIDE, y + down * SIDE) for across, down in shape.points]
        if shape.is_filled:
            pen.polygon(points, fill=ink)
        else:
            pen.line(points, fill=ink, width=width * SCALE)


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


def _write(pen: Any, text: Text, fill: str) -> None:
    place, anchor = (text.x * SIDE, text.y * SIDE), "ms" if text.is_centred else "ls"
    pen.text(place, covered(text.text), fill=fill, font=_font(text.size), anchor=anchor)


@cache
def _font(size: Size) -> Any:
    from PIL import ImageFont  # noqa: PLC0415 - as above

    return ImageFont.truetype(BOLD if size == "title" else REGULAR, round(SIZES[size] * SIDE))
