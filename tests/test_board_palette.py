"""The board's colours: every pair that is used has contrast enough, in each shade."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

PALETTE = files("companion.out.board").joinpath("pages", "palette.css").read_text("utf-8")
SHADES = ("", "dark", "stark", "stark-dark")
TEXT = [
    ("ink", "ground"), ("ink", "panel"), ("quiet", "ground"), ("strong", "ground"),
    ("on-strong", "strong"), ("place", "ground"), ("fault", "ground"),
]  # fmt: skip
EDGES = [("line", "ground"), ("line", "panel"), ("focus", "ground"), ("focus", "panel")]


def colours(shade: str) -> dict[str, str]:
    """Return the palette's colours by name, as #rrggbb."""
    head = rf':root\[data-shade="{shade}"\]' if shade else ":root"
    block = re.search(head + r" \{(.*?)\}", PALETTE, re.DOTALL)
    assert block
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block[1]))


def luminance(colour: str) -> float:
    """Return the relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_standard_says() -> None:
    """Black on white is 21 to 1; #767676 on white is the usual example just over 4.5."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 < contrast("#767676", "#ffffff") < 4.6


@pytest.mark.parametrize("shade", SHADES)
def test_text_and_edges_stand_out(shade: str) -> None:
    """Text 7 to 1 (1.4.6, level AAA), or 4.5 where it is large; edges and focus 3 to 1 (1.4.11)."""
    palette = colours(shade)
    assert set(palette) == set(colours(""))
    for one, other in TEXT:
        least = 4.5 if one == "place" else 7
        assert (one, other, contrast(palette[one], palette[other]) >= least) == (one, other, True)
    for one, other in EDGES:
        assert (one, other, contrast(palette[one], palette[other]) >= 3) == (one, other, True)


@pytest.mark.parametrize("name", ["board.css", "walk.css"])
def test_no_colour_stands_outside_of_the_palette(name: str) -> None:
    """One palette: the style sheets name its colours, and no other."""
    sheet = files("companion.out.board").joinpath("pages", name).read_text("utf-8")
    sheet = re.sub(r"/\*.*?\*/", "", sheet, flags=re.DOTALL)
    assert not re.search(r":[^;{}]*(#[0-9a-f]{3,8}\b|rgba?\(|hsl)", sheet)
