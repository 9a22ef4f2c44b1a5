"""The cloth in its colours: each crossing shows the thread above, and can be told in grey."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from paper_plans import NAMES, demo
from PIL import Image, ImageColor
from small_plans import make_plan, straight

from companion.loom.compute import compute
from companion.loom.drawdown import drawdown
from companion.loom.weaving import weft_colours, weft_turns
from companion.out.picture.layout import Crossing, layout
from companion.out.picture.png import SIDE, write_png
from companion.out.picture.svg import write_svg
from companion.out.picture.swatches import MARKS, UNNAMED, luminance, swatches
from companion.out.picture.view import view
from companion.out.picture.words import words
from companion.plan.wif.colours import WORDS
from companion.plan.wif.reader import read_wif

if TYPE_CHECKING:
    from companion.out.picture.layout import Colours
    from companion.out.picture.view import PictureView

COLOURED = [
    name for name in NAMES if demo(name).draft.picks and any(swatches(demo(name).draft.colours))
]
# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation
# of Color Vision Deficiency", IEEE TVCG 15 (2009), severity 1.0 (the figures are from memory).
SIGHTS = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def simulated(fill: str, sight: str) -> str:
    """Return a colour as an eye of that kind has it: the matrix is for linear light."""
    levels = [int(fill[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [luminance("#" + f"{round(level * 255):02x}" * 3) for level in levels]
    seen = [
        min(max(sum(a * b for a, b in zip(row, linear, strict=True)), 0), 1)
        for row in SIGHTS[sight]
    ]
    return "#" + "".join(f"{round(_encoded(level) * 255):02x}" for level in seen)


def _encoded(level: float) -> float:
    return level * 12.92 if level <= 0.0031308 else 1.055 * level ** (1 / 2.4) - 0.055


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def picture_of(shown: PictureView) -> Image.Image:
    with Image.open(BytesIO(write_png(shown.title, words(shown), layout(shown)))) as image:
        return image.convert("RGB")


def part(shown: PictureView, name: str) -> Colours:
    return next(each for each in layout(shown).colours if each.name == name)


def square_of(image: Image.Image, colours: Colours, square: Crossing) -> Image.Image:
    x, y = (colours.x + square.column) * SIDE, (colours.y + square.row) * SIDE
    return image.crop((x, y, x + SIDE, y + SIDE))


@pytest.mark.parametrize("name", ["indigo-first", "lattice-scarf", "uneven-stripes"])
def test_each_crossing_has_the_colour_of_the_thread_above(name: str) -> None:
    """The dots of the PNG, off the marks, against the drawdown and the plan's own colours."""
    dressing = demo(name)
    shown = view(dressing)
    image, cloth = picture_of(shown), part(shown, "cloth")
    by_end = replace(dressing.draft, shafts=tuple(end.shaft for end in dressing.ends))
    woven, weft = drawdown(by_end), weft_colours(dressing)
    fills = {each.name: ImageColor.getrgb(each.fill) for each in shown.shown_colours}
    dots = image.load()
    assert dots is not None
    is_right = dressing.first_end == "right"
    for pick in shown.picks:
        for end in shown.ends:
            is_up = woven.is_warp_up(pick, end)
            colour = dressing.ends[end - 1].colour if is_up else weft[pick - 1]
            column = shown.ends[-1] - end if is_right else end - shown.ends[0]
            x = (cloth.x + column) * SIDE + SIDE // 5
            y = (cloth.y + pick - shown.picks[0]) * SIDE + SIDE // 5
            assert dots[x, y] == fills[colour]


def test_wefts_take_turns_by_their_shares() -> None:
    """Three picks of natural and one of indigo, as the plan says; by hand."""
    assert weft_turns(demo("point-runner")) == ("natural", "natural", "natural", "indigo")
    assert weft_colours(demo("point-runner"))[2:6] == ("natural", "indigo", "natural", "natural")


def test_a_weft_in_a_draft_keeps_its_colours() -> None:
    """The file says colour 2 for all of its weft, the shade of its edges."""
    assert set(weft_colours(demo("lattice-scarf"))) == {"dark blue"}
    assert weft_colours(demo("herringbone-scarf"))[:2] == ("", "")


def test_weft_colours_of_a_wif_file_are_read_pick_by_pick() -> None:
    """[WEFT COLORS] counts picks as [WARP COLORS] counts threads (from memory of WIF 1.1)."""
    text = (
        "[WIF]\nVersion=1.1\n[WEAVING]\nShafts=2\nTreadles=2\nRising Shed=true\n"
        "[WARP]\nThreads=2\nColor=1\n[WEFT]\nThreads=3\nColor=1\n[COLOR PALETTE]\nRange=0,255\n"
        "[COLOR TABLE]\n1=255,255,255\n2=220,20,30\n[WEFT COLORS]\n2=2\n"
        "[THREADING]\n1=1\n2=2\n[TIEUP]\n1=1\n2=2\n[TREADLING]\n1=1\n2=2\n3=1\n"
    )
    read = read_wif(text, name="a.wif", first_end="right", draft_first_end="right")
    assert read.draft.weft == ("white", "red", "white")
    assert read.draft.colours == ("white", "white")


@pytest.mark.parametrize("sight", ["own", *SIGHTS])
def test_marks_and_letters_stand_out_for_every_eye(sight: str) -> None:
    """WCAG 2.2, 1.4.3: text 4.5 to 1. So for each shade there is, whatever the eye."""
    for swatch in swatches([*WORDS, "natural", "indigo", "moss green", "plum", ""]).values():
        fill = swatch.fill if sight == "own" else simulated(swatch.fill, sight)
        assert contrast(swatch.ink, fill) >= (4.5 if sight == "own" else 3), swatch


def test_colours_differ_in_pure_black_and_white() -> None:
    """Printed without any shade at all, no two of eight colours have the same square."""
    names = list(WORDS)[: len(MARKS)]
    found = swatches(names)
    shown = view(demo("striped-towels"))
    drawn = layout(shown)
    cloth = part(shown, "cloth")
    row = tuple(Crossing(at, 0, found[name], "warp") for at, name in enumerate(names))
    colours = cloth._replace(squares=row)
    only = replace(drawn, panels=(), frames=(), texts=(), colours=(colours,))
    with Image.open(BytesIO(write_png("x", (), only))) as image:
        inked = [_ink_of(square_of(image.convert("RGB"), colours, each), each) for each in row]
    for one, other in combinations(inked, 2):
        assert len(one ^ other) >= 40, "dots of the square that differ"


def _ink_of(square: Image.Image, crossing: Crossing) -> set[tuple[int, int]]:
    ink = ImageColor.getrgb(crossing.swatch.ink)
    wide, high = square.size
    return {(x, y) for x in range(wide) for y in range(high) if square.getpixel((x, y)) == ink}


def test_pale_yarn_is_drawn_light() -> None:
    """Its shade is the palette's light one, and a deep one the dark one."""
    found = swatches(["pale green", "green", "deep blue", "heather grey"])
    shades = {name: "#" + "".join(f"{int(x):02x}" for x in shade) for name, shade in WORDS.items()}
    assert found["pale green"].fill == shades["light green"]
    assert found["deep blue"].fill == shades["dark blue"]
    assert found["heather grey"].fill == shades["grey"]


def test_letters_are_of_the_name_and_no_two_alike() -> None:
    """Blue and black begin alike, so the second takes another letter of its own."""
    found = swatches(["blue", "black", "heather grey", ""])
    assert [each.letter for each in found.values()] == ["B", "L", "H", "A"]
    many = swatches([f"colour {number}" for number in range(36)])
    assert len({each.letter for each in many.values()}) == 36


@pytest.mark.parametrize("name", COLOURED)
def test_title_part_and_key_stand_inside(name: str) -> None:
    """The plan's title, what is shown of it, and each colour with its mark, none cut off."""
    shown = view(demo(name))
    drawn = layout(shown)
    texts = [text.text for text in drawn.texts]
    assert texts[0] == shown.title
    assert texts[1].startswith("As planned: ends 1 to 48 of ")
    for swatch in shown.shown_colours:
        assert any(text.startswith(f"{swatch.title}: ") for text in texts)
    keys = [each for each in drawn.colours if each.name == "key"]
    assert [each.squares[0].swatch for each in keys] == list(shown.shown_colours)
    for each in drawn.colours:
        assert each.x + each.columns <= drawn.width
        assert each.y + each.rows < drawn.height
    svg = write_svg(shown.title, words(shown), drawn)
    assert all(f'id="{part}-1"' in svg for part in ("cloth", "warp-colours", "weft-colours"))


def test_words_say_the_colours() -> None:
    """As a helper at the loom would: in order, and how to tell them apart."""
    told = words(view(demo("striped-towels")))
    assert "Colours of the warp, end 1 first: 36 white, 12 blue." in told
    assert "Colours of the weft, pick 1 first: all white." in told
    assert (
        "To tell colours apart in grey: white has the letter W and no mark, blue has the letter B "
        "and a dot." in told
    )
    told = words(view(demo("point-runner")))
    assert "Colours of the warp, end 1 first: none named." in told
    assert "Colours of the weft, pick 1 first: 12 times (3 natural, 1 indigo)." in told


def test_a_threading_that_comes_over_and_over_is_told_once() -> None:
    """A straight draw of 14 ends ends within its fourth repeat; one odd end, and all are told."""
    shafts = straight(14)
    told = words(view(compute(make_plan(shafts))))
    assert "Threading, end 1 first: shafts 1 to 4, over and over." in told
    told = words(view(compute(make_plan((*shafts[:13], 3)))))
    assert "Threading, end 1 first: shafts 1 to 4, 1 to 4, 1 to 4, 1, 3." in told


def test_a_turn_of_colours_that_the_picture_cuts_off_is_told_once() -> None:
    """Of 48 ends nine turns of five fit; before, each of their runs was told."""
    colours = ("white", "white", "white", "blue", "blue") * 12
    drafted = {"colours": colours, "lifts": ((1, 3), (2, 4))}
    plan = make_plan(straight(60), drafted=drafted)
    told = words(view(compute(plan)))
    assert "Colours of the warp, end 1 first: 9 times (3 white, 2 blue), 3 white." in told


def test_the_picture_in_the_readme_is_what_is_drawn_now() -> None:
    """Draw it anew with: companion picture plans/lattice-scarf.toml"""
    shown = view(demo("lattice-scarf"))
    kept = Path(__file__).parent.parent / "companion" / "out" / "picture" / "lattice-scarf.svg"
    assert kept.read_text(encoding="utf-8") == write_svg(shown.title, words(shown), layout(shown))


def test_a_plan_without_colours_has_no_second_cloth() -> None:
    """There would be nothing to see in it."""
    shown = view(demo("first-try"))
    assert layout(shown).colours == ()
    assert not [line for line in words(shown) if "olour" in line or UNNAMED in line]
