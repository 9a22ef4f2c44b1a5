"""A picture as SVG, by drawsvg; title and description stand in the file for screen readers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.out.picture.layout import Frame, Layout, Panel, Text

SQUARE: Final = 16
"""Units of the drawing to a side of a square."""
SMALL, LARGE = 11, 20
GRID: Final = "#808080"
MARK: Final = "#c63d00"
"""Against black 4.0 to 1 and against white 5.2 to 1: WCAG 2.2, 1.4.11 asks for 3 to 1."""


def write_svg(title: str, words: Sequence[str], drawn: Layout) -> str:
    """Return a picture as an SVG file.

    Args:
        title: a short name.
        words: what the picture shows, a sentence a line.
        drawn: the picture.
    """
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
    for frame in drawn.frames:
        drawing.append(_frame(drawsvg, frame))
    for text in drawn.texts:
        drawing.append(_text(drawsvg, text))
    return str(drawing.as_svg())


def _panel(drawsvg: Any, panel: Panel) -> Any:
    place = f"translate({panel.x * SQUARE},{panel.y * SQUARE})"
    name = panel.name.replace(" ", "-")
    group = drawsvg.Group(id=f"{name}-{panel.cloth + 1}", transform=place)
    for column, row in sorted(panel.filled):
        x, y = column * SQUARE, row * SQUARE
        group.append(drawsvg.Rectangle(x, y, SQUARE, SQUARE, fill="black"))
    width, height = panel.columns * SQUARE, panel.rows * SQUARE
    lines = [f"M{x * SQUARE},0V{height}" for x in range(panel.columns + 1)]
    lines += [f"M0,{y * SQUARE}H{width}" for y in range(panel.rows + 1)]
    group.append(drawsvg.Path("".join(lines), stroke=GRID, stroke_width=1, fill="none"))
    return group


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


def _text(drawsvg: Any, text: Text) -> Any:
    return drawsvg.Text(
        text.text,
        LARGE if text.is_large else SMALL,
        text.x * SQUARE,
        text.y * SQUARE,
        text_anchor="middle" if text.is_centred else "start",
        font_family="Atkinson Hyperlegible Next, Verdana, DejaVu Sans, sans-serif",
        fill="black",
    )
