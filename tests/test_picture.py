"""Pictures hold the cloth that the drawdown gives, square by square, and say it in words."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from itertools import product
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_plans import NAMES, demo
from PIL import Image
from small_plans import make_plan, straight

from companion.base.errors import CompanionError
from companion.loom.compute import compute
from companion.loom.drawdown import drawdown, longest_floats
from companion.out.picture.layout import Layout, Panel, layout
from companion.out.picture.png import SIDE, write_png
from companion.out.picture.svg import MARK, SQUARE, write_svg
from companion.out.picture.view import MOST_ENDS, MOST_PICKS, compare, read_slip, view, window
from companion.out.picture.words import words
from companion.plan.threading.notation import read_numbers

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing
    from companion.out.picture.view import PictureView

SVG = "{http://www.w3.org/2000/svg}"
Squares = set[tuple[int, int]]


def by_end(dressing: Dressing) -> list[int]:
    return [end.shaft for end in dressing.ends]


def wanted_cloth(dressing: Dressing, shown: PictureView, shafts: list[int]) -> Squares:
    """Return the squares of the drawdown, from the drawdown itself; end 1 right or left."""
    cloth = drawdown(replace(dressing.draft, shafts=tuple(shafts)))
    is_right = dressing.first_end == "right"
    return {
        (shown.ends[-1] - end if is_right else end - shown.ends[0], pick - shown.picks[0])
        for pick in shown.picks
        for end in shown.ends
        if cloth.is_warp_up(pick, end)
    }


def svg_of(shown: PictureView) -> ET.Element:
    return ET.fromstring(write_svg(shown.title, words(shown), layout(shown)))  # noqa: S314 - our own


def squares_of(svg: ET.Element, name: str) -> Squares:
    """Return column and row of each black square in a group of an SVG."""
    (group,) = (each for each in svg.iter(f"{SVG}g") if each.get("id") == name)
    black = "".join(
        path.get("d", "") for path in group.iter(f"{SVG}path") if path.get("fill") == "black"
    )
    corners = re.findall(rf"M(\d+),(\d+)h{SQUARE}v{SQUARE}h-{SQUARE}z", black)
    return {(int(x) // SQUARE, int(y) // SQUARE) for x, y in corners}


DRAFTS = [name for name in NAMES if demo(name).draft.picks]


@pytest.mark.parametrize("name", DRAFTS)
def test_svg_squares_are_the_drawdown(name: str) -> None:
    """Each black square of the drawdown is a crossing with the warp above, and no other is."""
    dressing = demo(name)
    shown = view(dressing)
    svg = svg_of(shown)
    assert squares_of(svg, "drawdown-1") == wanted_cloth(dressing, shown, by_end(dressing))


@pytest.mark.parametrize("name", DRAFTS)
def test_svg_squares_are_the_draft(name: str) -> None:
    """Threading, tie-up and treadling: shaft 1 in the lowest row, treadle 1 at the left."""
    dressing = demo(name)
    shown, draft = view(dressing), dressing.draft
    svg = svg_of(shown)
    top = max(*by_end(dressing), *(shaft for ties in draft.treadles for shaft in ties))
    is_right = dressing.first_end == "right"
    assert squares_of(svg, "threading-1") == {
        (shown.ends[-1] - end if is_right else end - shown.ends[0], top - by_end(dressing)[end - 1])
        for end in shown.ends
    }
    assert squares_of(svg, "tie-up-1") == {
        (treadle, top - shaft) for treadle, ties in enumerate(draft.treadles) for shaft in ties
    }
    assert squares_of(svg, "treadling-1") == {
        (treadle - 1, pick - shown.picks[0])
        for pick in shown.picks
        for treadle in draft.picks[pick - 1]
    }


def black_squares(image: Image.Image, panel: Panel) -> set[tuple[int, int]]:
    """Return the squares of a panel, column and row, whose middle is black."""
    dots = image.load()
    assert dots is not None
    left, top = panel.x * SIDE + SIDE // 2, panel.y * SIDE + SIDE // 2
    squares = product(range(panel.columns), range(panel.rows))
    return {(x, y) for x, y in squares if dots[left + x * SIDE, top + y * SIDE] == (0, 0, 0)}


@pytest.mark.parametrize("name", ["dobby-runner", "lattice-scarf", "many-shafts", "puckered-cloth"])
def test_png_dots_are_the_same_squares(name: str) -> None:
    """The middle of every square, in every panel, is as black or white as the SVG's.

    A lift plan, a cloth in colours, forty treadles, and two beams: the rest are drawn alike.
    """
    shown = view(demo(name))
    drawn = layout(shown)
    with Image.open(BytesIO(write_png(shown.title, words(shown), drawn))) as image:
        assert image.size == (drawn.width * SIDE, drawn.height * SIDE)
        for panel in drawn.panels:
            assert black_squares(image, panel) == panel.filled


def test_parts_stand_as_in_printed_drafts() -> None:
    """Threading above the drawdown, tie-up in the corner beside it, treadling down the side."""
    drawn = layout(view(demo("lattice-scarf")))
    places = {panel.name: panel for panel in drawn.panels}
    threading, cloth = places["threading"], places["drawdown"]
    tie_up, treadling = places["tie-up"], places["treadling"]
    assert threading.x == cloth.x
    assert threading.y + threading.rows < cloth.y
    assert tie_up.y == threading.y
    assert tie_up.x == treadling.x > cloth.x + cloth.columns
    assert treadling.y == cloth.y


@pytest.mark.parametrize("name", NAMES)
def test_panels_keep_apart_and_inside(name: str) -> None:
    """No part of a picture lies over another, or outside it."""
    drawn = layout(view(demo(name), instead={1: 2}))
    for number, panel in enumerate(drawn.panels):
        assert panel.x + panel.columns <= drawn.width
        assert panel.y + panel.rows <= drawn.height
        for other in drawn.panels[:number]:
            assert (
                panel.x >= other.x + other.columns
                or other.x >= panel.x + panel.columns
                or panel.y >= other.y + other.rows
                or other.y >= panel.y + panel.rows
            )
    assert all(0 <= text.x <= drawn.width and 0 < text.y <= drawn.height for text in drawn.texts)


def test_the_marked_end_is_framed() -> None:
    """The place in the walk has a frame round its threading and its cloth, and its number."""
    dressing = demo("first-try")
    drawn = layout(view(dressing, at=12))
    places = {panel.name: panel for panel in drawn.panels}
    column = places["threading"].x + 40 - 12
    assert [(frame.x, frame.y, frame.rows) for frame in drawn.frames] == [
        (column, places["threading"].y, 4),
        (column, places["drawdown"].y, 40),
    ]
    assert "12" in {text.text for text in drawn.texts if text.x == column + 0.5}
    svg = svg_of(view(dressing, at=12))
    assert len([each for each in svg.iter() if each.get("stroke") == MARK]) == 2


def test_a_slip_is_shown_beside_the_planned_cloth() -> None:
    """Two cloths: as planned, and with the end on the wrong shaft; both frame it, with dashes."""
    dressing = demo("lattice-scarf")
    shown = view(dressing, instead={12: 3})
    svg, shafts = svg_of(shown), by_end(dressing)
    assert squares_of(svg, "drawdown-1") == wanted_cloth(dressing, shown, shafts)
    wrong = [*shafts[:11], 3, *shafts[12:]]
    assert squares_of(svg, "drawdown-2") == wanted_cloth(dressing, shown, wrong)
    assert squares_of(svg, "drawdown-1") != squares_of(svg, "drawdown-2")
    framed = [each for each in svg.iter() if each.get("stroke") == MARK]
    assert len(framed) == 4
    assert all(each.get("stroke-dasharray") for each in framed)


def test_two_ends_exchanged_are_two_slips() -> None:
    """A crossed pair is given end by end."""
    dressing = demo("first-try")
    shown = view(dressing, instead=dict(map(read_slip, ["end 2 on shaft 3", "3 on 2"])))
    assert shown.cloths[1].draft.shafts[:4] == (1, 3, 2, 4)
    assert shown.changed == (2, 3)


def test_any_threading_may_stand_beside_the_planned_one() -> None:
    """A threading with an end too few is compared as it is."""
    dressing = demo("first-try")
    found = [*by_end(dressing)[:10], *by_end(dressing)[11:]]
    shown = compare(dressing, found, "End 11 left in the cross")
    told = words(shown)
    assert "Beside it the same cloth: end 11 left in the cross." in told
    assert "It has 39 ends." in told
    assert len(layout(shown).frames) == 0, "too many would hide the cloth"


@pytest.mark.parametrize("name", DRAFTS)
def test_words_say_the_cloth(name: str) -> None:
    """Read back, the words give every crossing shown, the threading and the ties."""
    dressing = demo(name)
    shown, draft = view(dressing), dressing.draft
    told = words(shown)
    cloth = {}
    for line in told:
        match = re.fullmatch(
            r"Picks? ([^:]+): (?:ends? ([^a-z]|to)+|no end )above the weft\.", line
        )
        if match:
            ends = line.partition(": ")[2].removesuffix(" above the weft.")
            up = () if ends == "no end" else read_numbers(ends.split(" ", 1)[1])
            cloth.update(dict.fromkeys(read_numbers(match[1]), up))
    down = drawdown(replace(draft, shafts=tuple(by_end(dressing))))
    assert cloth == {
        pick: tuple(end for end in down.ends_up(pick) if end in shown.ends) for pick in shown.picks
    }
    (threading,) = (line for line in told if line.startswith("Threading, "))
    listed, again, _ = threading.partition(": shafts ")[2].rstrip(".").partition(", over and over")
    shafts = list(read_numbers(listed)) * (len(shown.ends) if again else 1)
    assert shafts[: len(shown.ends)] == by_end(dressing)[shown.ends[0] - 1 : shown.ends[-1]]
    ties = [line.partition(": ")[2] for line in told if line.startswith("Treadle ")]
    assert [read_numbers(tie.rstrip(".").split(" ", 1)[1]) for tie in ties] == list(draft.treadles)


def test_words_say_floats_mark_and_slip() -> None:
    """The longest floats are the drawdown's own; the marked end and the slip are named."""
    dressing = demo("lattice-scarf")
    told = " ".join(words(view(dressing, at=20, instead={12: 3})))
    floats = longest_floats(replace(dressing.draft, shafts=tuple(by_end(dressing))))
    assert f"warp {floats.warp_on_face} on the face and {floats.warp_on_back} on the back" in told
    assert "The place in the walk is marked: end 20, on shaft 8." in told
    assert "end 12, on shaft 3 instead of on shaft 8; it weaves otherwise in picks" in told


def test_words_stand_in_both_files() -> None:
    """SVG has them as title and description, PNG under the standard's own keywords."""
    shown = view(demo("first-try"))
    svg = svg_of(shown)
    assert svg.get("role") == "img"
    ids = {each.get("id"): each for each in svg.iter()}
    assert ids[svg.get("aria-labelledby")].text == shown.title
    assert ids[svg.get("aria-describedby")].text == "\n".join(words(shown))
    with Image.open(BytesIO(write_png(shown.title, words(shown), layout(shown)))) as image:
        image.load()
        assert image.info["Title"] == shown.title
        assert image.info["Description"] == "\n".join(words(shown))


def test_a_wide_warp_is_shown_in_part() -> None:
    """A window round the marked end, and the words say so."""
    dressing = demo("striped-towels")
    shown = view(dressing, at=290, from_pick=20)
    assert (len(shown.ends), len(shown.picks)) == (MOST_ENDS, MOST_PICKS)
    assert shown.ends[-1] == 300
    assert 290 in shown.ends
    told = words(shown)
    assert "Shown are ends 253 to 300 of 300." in told
    assert "Shown are picks 20 to 67 of 384." in told
    assert layout(shown).width < 120


@given(st.integers(1, 500), st.integers(1, 80), st.data())
def test_windows_hold_what_they_are_for(number: int, most: int, data: st.DataObject) -> None:
    """Never more than asked, never outside, always with the one in question."""
    centre = data.draw(st.integers(1, number))
    found = window(number, most, centre)
    assert len(found) == min(number, most)
    assert centre in found
    assert found[0] >= 1
    assert found[-1] <= number


def test_a_plan_without_picks_has_no_cloth() -> None:
    """Only the threading is drawn, and nothing is said of what is not known."""
    shown = view(demo("lace-napkins"), at=200)
    drawn = layout(shown)
    assert [panel.name for panel in drawn.panels] == ["threading"]
    assert not [line for line in words(shown) if "weft" in line or "readle" in line]
    assert isinstance(drawn, Layout)


def test_a_lift_plan_stands_in_the_treadlings_place() -> None:
    """Columns are shafts, and there is no tie-up."""
    plan = make_plan(straight(8), drafted={"lifts": ((1, 2), (), (3,))})
    shown = view(compute(plan))
    drawn = layout(shown)
    places = {panel.name: panel for panel in drawn.panels}
    assert set(places) == {"threading", "lift plan", "drawdown"}
    assert places["lift plan"].filled == {(0, 0), (1, 0), (2, 2)}
    assert "Lift plan, the shafts lifted, pick 1 first: 1+2, none, 3." in words(shown)


@pytest.mark.parametrize(
    ("wanted", "fault"),
    [
        ({"at": 41}, "an end from 1 to 40, not 41"),
        ({"instead": {0: 1}}, "an end from 1 to 40, not 0"),
        ({"instead": {1: 5}}, "a shaft from 1 to 4, not 5"),
        ({"from_pick": 41}, "a pick from 1 to 40, not 41"),
    ],
)
def test_what_the_plan_does_not_have_is_told(wanted: dict[str, object], fault: str) -> None:
    """One line says what was expected and what came."""
    with pytest.raises(CompanionError, match=fault):
        view(demo("first-try"), **wanted)  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["", "12", "end twelve on shaft 3", "end 12 on shaft 3 or 4"])
def test_a_slip_in_other_words_is_told(text: str) -> None:
    """The way to write it is in the line."""
    with pytest.raises(CompanionError, match='Write it as "end 12 on shaft 3"'):
        read_slip(text)


def test_a_slip_that_is_no_slip_is_told() -> None:
    """An end that is on that shaft by the plan changes nothing."""
    told = words(view(demo("first-try"), instead={1: 1}))
    assert told[-1] == "Nothing differs: that is how the plan has it."
