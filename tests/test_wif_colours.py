"""Palette colours as words: plain, short, and never the same word for two colours."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.plan.wif.colours import MAX_NAMED, WORDS, Shade, colour_names
from companion.plan.wif.reader import WifReading, read_wif

STRIPED = (Path(__file__).parent / "data" / "wif" / "striped.wif").read_text(encoding="ascii")

# W3C, CSS Color Module Level 4, "Named Colors": keyword, sRGB value; and the word expected here,
# which is the keyword in plain English.
CSS_COLOURS = [
    ("black", (0, 0, 0), "black"),
    ("white", (255, 255, 255), "white"),
    ("gray", (128, 128, 128), "grey"),
    ("lightgray", (211, 211, 211), "light grey"),
    ("dimgray", (105, 105, 105), "grey"),
    ("red", (255, 0, 0), "red"),
    ("darkred", (139, 0, 0), "dark red"),
    ("pink", (255, 192, 203), "pink"),
    ("orange", (255, 165, 0), "orange"),
    ("brown", (165, 42, 42), "brown"),
    ("saddlebrown", (139, 69, 19), "brown"),
    ("yellow", (255, 255, 0), "yellow"),
    ("green", (0, 128, 0), "green"),
    ("darkgreen", (0, 100, 0), "dark green"),
    ("lightgreen", (144, 238, 144), "light green"),
    ("turquoise", (64, 224, 208), "turquoise"),
    ("blue", (0, 0, 255), "blue"),
    ("darkblue", (0, 0, 139), "dark blue"),
    ("lightblue", (173, 216, 230), "light blue"),
    ("purple", (128, 0, 128), "purple"),
]


def reading(text: str) -> WifReading:
    return read_wif(text, name="a.wif", first_end="right", draft_first_end="right")


def colours(text: str) -> tuple[str, ...]:
    return reading(text).draft.colours


@pytest.mark.parametrize(("keyword", "shade", "word"), CSS_COLOURS)
def test_words_agree_with_a_published_table(
    keyword: str, shade: tuple[int, int, int], word: str
) -> None:
    """A shade that the web standard names gets the same name here."""
    assert colour_names([1], {1: Shade(*shade)}) == {1: word}, keyword


shades = st.builds(Shade, *[st.integers(0, 255)] * 3)


@settings(deadline=None)
@given(st.dictionaries(st.integers(1, 300), shades, max_size=MAX_NAMED + 5), st.data())
def test_no_two_palette_colours_share_a_name(
    palette: dict[int, Shade], data: st.DataObject
) -> None:
    """However near two colours are, and whether or not the table knows them, their names part."""
    used = data.draw(st.sets(st.integers(1, 300)))
    names = colour_names(sorted(used | palette.keys()), palette)
    assert names.keys() == used | palette.keys()
    assert len(set(names.values())) == len(names)


@pytest.mark.parametrize("word", WORDS)
def test_names_are_short_to_say(word: str) -> None:
    """A colour word is two plain words at most, without digits to mix up with ends."""
    assert len(word.split()) <= 2
    assert word.replace(" ", "").isalpha()


def test_stripes_with_default_and_own_range() -> None:
    """Threads not listed take the warp's colour; levels of 0 to 999 are scaled."""
    expected = ["white"] * 13
    for end, word in {3: "dark blue", 4: "dark blue", 7: "red", 10: "dark blue"}.items():
        expected[end - 1] = word
    expected[11 - 1] = "colour 4"
    assert colours(STRIPED) == tuple(expected)
    assert reading(STRIPED).notes == ()


def test_nearer_of_two_blues_keeps_the_word() -> None:
    """Of two dark blues in use one is told by its number in the palette."""
    assert colour_names([2, 9], {2: Shade(0, 0, 130), 9: Shade(0, 0, 112)}) == {
        2: "colour 2",
        9: "dark blue",
    }


def test_palette_without_shades_is_told_by_number() -> None:
    """A file that gives colour numbers alone still tells the stripes apart."""
    start, end = STRIPED.index("[COLOR TABLE]"), STRIPED.index("[WEAVING]")
    found = colours(STRIPED[:start] + STRIPED[end:])
    assert found[1:4] == ("colour 1", "colour 2", "colour 2")


def test_file_without_colours_names_none() -> None:
    """No palette, no default: no colour is called out."""
    assert colours("[WIF]\n[THREADING]\n1=1\n2=2\n") == ("", "")


@pytest.mark.parametrize(
    ("line", "faulty", "place"),
    [
        ("Range=0,999", "Range=999,0", "COLOR PALETTE range: expected two levels"),
        ("Range=0,999", "Range=many", "COLOR PALETTE range: expected two levels"),
        ("2=0,0,430", "2=0,0", "COLOR TABLE 2: expected red, green and blue"),
        ("7=3", "7=blue", "WARP COLORS 7: expected a colour number from 1 to"),
        ("Color=1", "Color=-1", 'WARP color: "-1" is not a colour number'),
    ],
)
def test_faulty_colours_never_stop_the_work(line: str, faulty: str, place: str) -> None:
    """A colour that cannot be understood is noted; the threading is read all the same."""
    found = reading(STRIPED.replace(line, faulty, 1))
    assert len(found.draft.shafts) == 13
    assert any(place in note for note in found.notes)


def test_levels_out_of_range_are_held_to_it() -> None:
    """A level beyond the palette's range counts as its end."""
    text = STRIPED.replace("1=999,999,999", "1=5000,1200,999").replace("2=0,0,430", "2=-5,-1,430")
    assert colours(text) == colours(STRIPED)
