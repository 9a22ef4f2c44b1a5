"""A picture as SVG, by drawsvg; title and description stand in the file for screen readers."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from typing import Any, Final

from companion.base.standing_in import Hollow, standing_in
from companion.out.picture.layout import SIZES, Colours, Crossing, Frame, Layout, Panel, Text
from companion.out.picture.swatches import MARK_SHAPES, Shape, Swatch, Way, edges

SQUARE: Final = 20
"""Units of the drawing to a side of a square."""
GRID: Final = "#808080"
MARK: Final = "#c63d00"
"""Against black 4.0 to 1 and against white 5.2 to 1: WCAG 2.2, 1.4.11 asks for 3 to 1."""
EDGE_WIDTH: Final = 1
MARK_WIDTH: Final = 2
_WAYS: Final[tuple[Way, ...]] = ("warp", "weft")
FACES: Final = "Atkinson Hyperlegible Next, Verdana, DejaVu Sans, sans-serif"

_NETWORK: Final = "urllib.request"
"""Loaded with drawsvg, by what quotes a text for it, in half of its time; nothing is fetched."""

Pen = dict[str, object]
"""How a path is drawn, as drawsvg takes it."""


def write_svg(title: str, words: Sequence[str], drawn: Layout) -> str:
    """Return a picture as an SVG file, with a title and, in sentences, what it shows."""
    with standing_in({_NETWORK: Hollow(_NETWORK)}):
        import drawsvg  # noqa: PLC0415 - only wanted for a picture

    drawing = drawsvg.Drawing(
        drawn.width * SQUARE,
        drawn.height * SQUARE,
        role="img",
        lang="en",
        **{"aria-labelledby": "picture-title", "aria-describedby": "picture-words"},
    )
    # drawsvg has no <desc> of its own; it is written as its <title> is.
    description = type("Description", (drawsvg.Title,), {"TAG_NAME": "desc"})
    drawing.append(drawsvg.Title(title, id="picture-title"))
    drawing.append(description("\n".join(words), id="picture-words"))
    drawing.append(drawsvg.Rectangle(0, 0, "100%", "100%", fill="white"))
    for panel in drawn.panels:
        drawing.append(_panel(drawsvg, panel))
    for number, colours in enumerate(drawn.colours):
        drawing.append(_colours(drawsvg, colours, number))
    for frame in drawn.frames:
        drawing.append(_frame(drawsvg, frame))
    for text in drawn.texts:
        weight = "bold" if text.size == "title" else "normal"
        drawing.append(_text(drawsvg, text, font_weight=weight, fill="black"))
    return str(drawing.as_svg())


def _group(drawsvg: Any, name: str, x: int, y: int) -> Any:
    place = f"translate({x * SQUARE},{y * SQUARE})"
    return drawsvg.Group(id=name.replace(" ", "-"), transform=place)


def _panel(drawsvg: Any, panel: Panel) -> Any:
    group = _group(drawsvg, f"{panel.name}-{panel.cloth + 1}", panel.x, panel.y)
    group.append(drawsvg.Path(_squares(sorted(panel.filled)), fill="black"))
    width, height = panel.columns * SQUARE, panel.rows * SQUARE
    lines = [f"M{x * SQUARE},0V{height}" for x in range(panel.columns + 1)]
    lines += [f"M0,{y * SQUARE}H{width}" for y in range(panel.rows + 1)]
    group.append(drawsvg.Path("".join(lines), stroke=GRID, stroke_width=1, fill="none"))
    return group


def _colours(drawsvg: Any, colours: Colours, number: int) -> Any:
    """Return a part in colours: one path for all squares of a colour, and one for its marks."""
    is_key = colours.name == "key"
    name = f"key-{number}" if is_key else f"{colours.name}-{colours.cloth + 1}"
    group = _group(drawsvg, name, colours.x, colours.y)
    ordered = sorted(colours.squares, key=lambda square: square.swatch.name)
    for swatch, alike in groupby(ordered, key=lambda square: square.swatch):
        squares = list(alike)
        places = _squares((at.column, at.row) for at in squares)
        group.append(drawsvg.Path(places, fill=swatch.fill))
        woven = [square for square in squares if square.way != "letter"]
        for drawn, pen in _threads(woven, swatch):
            if drawn:
                group.append(drawsvg.Path(drawn, **pen))
        for square in squares:
            if square.way == "letter":
                letter = Text(square.column + 0.5, square.row + 0.8, swatch.letter)
                group.append(_text(drawsvg, letter, fill=swatch.ink))
    group.append(_outline(drawsvg, colours, is_key=is_key))
    return group


def _squares(places: Iterable[tuple[int, int]]) -> str:
    """Return one path for all squares alike, which is half the writing of a shape for each."""
    box = f"h{SQUARE}v{SQUARE}h-{SQUARE}z"
    return "".join(f"M{column * SQUARE},{row * SQUARE}{box}" for column, row in places)


def _threads(woven: Sequence[Crossing], swatch: Swatch) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield one path for all edges of a colour's threads, and those of its marks."""
    line: Pen = {"fill": "none", "stroke": swatch.ink}
    drawn = "".join(_all_over(edges(way), [at for at in woven if at.way == way]) for way in _WAYS)
    yield drawn, {**line, "stroke_width": EDGE_WIDTH}
    shapes = MARK_SHAPES[swatch.mark]
    lines = [shape for shape in shapes if not shape.is_filled]
    yield _all_over(lines, woven), {**line, "stroke_width": MARK_WIDTH}
    yield _all_over([shape for shape in shapes if shape.is_filled], woven), {"fill": swatch.ink}


def _all_over(shapes: Sequence[Shape], woven: Sequence[Crossing]) -> str:
    begun = [(*shape.points[0], _rest(shape)) for shape in shapes]
    return "".join(
        f"M{(square.column + x) * SQUARE:g},{(square.row + y) * SQUARE:g}{rest}"
        for square in woven
        for x, y, rest in begun
    )


def _rest(shape: Shape) -> str:
    """Return how a shape goes on from its first point, wherever that is."""
    moves = (
        f"{round((x - left) * SQUARE, 4):g},{round((y - top) * SQUARE, 4):g}"
        for (left, top), (x, y) in pairwise(shape.points)
    )
    return f"l{' '.join(moves)}{'z' if shape.is_filled else ''}"


def _outline(drawsvg: Any, colours: Colours, *, is_key: bool) -> Any:
    """Return the edge of a part, so that pale yarn does not run into the paper."""
    if is_key:
        boxes = _squares((at.column, 0) for at in colours.squares)
        return drawsvg.Path(boxes, fill="none", stroke=GRID, stroke_width=1)
    width, height = colours.columns * SQUARE, colours.rows * SQUARE
    return drawsvg.Rectangle(0, 0, width, height, fill="none", stroke=GRID, stroke_width=1)


def _frame(drawsvg: Any, frame: Frame) -> Any:
    # Dashes tell a slip from the place in the walk without colour.
    dashes = {"stroke_dasharray": "8,4"} if frame.is_change else {}
    return drawsvg.Rectangle(
        frame.x * SQUARE - 2,
        frame.y * SQUARE - 2,
        frame.columns * SQUARE + 4,
        frame.rows * SQUARE + 4,
        fill="none",
        stroke=MARK,
        stroke_width=4,
        **dashes,
    )


def _text(drawsvg: Any, text: Text, **look: str) -> Any:
    return drawsvg.Text(
        text.text,
        SIZES[text.size] * SQUARE,
        text.x * SQUARE,
        text.y * SQUARE,
        text_anchor="middle" if text.is_centred else "start",
        font_family=FACES,
        **look,
    )
