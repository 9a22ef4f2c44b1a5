"""What is written as WIF 1.1, and that it reads back as the same draft."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.plan.draft.draft import Draft
from companion.plan.draft.units import repeat_units
from companion.plan.wif.colours import WORDS
from companion.plan.wif.reader import read_wif
from companion.plan.wif.writer import write_wif

TWILL = Draft(
    shafts=(1, 2, 3, 4),
    colours=("white", "white", "madder", ""),
    units=repeat_units((1, 2, 3, 4)),
    treadles=((1, 2), (2, 3), (), (1, 4)),
    picks=((1,), (), (2, 4)),
)

# The [WIF] section: J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011). The rest of
# the layout: from memory of WIF 1.1.
WRITTEN = """\
[WIF]
Version=1.1
Date=April 20, 1997
Developers=wif@mhsoft.com
Source Program=companion

[CONTENTS]
TEXT=true
WEAVING=true
WARP=true
WEFT=true
COLOR PALETTE=true
COLOR TABLE=true
WARP COLORS=true
THREADING=true
TIEUP=true
TREADLING=true

[TEXT]
Title=Tea towel

[WEAVING]
Rising Shed=true
Treadles=4
Shafts=8

[WARP]
Threads=4

[WEFT]
Threads=3

[COLOR PALETTE]
Entries=2
Form=RGB
Range=0,255

[COLOR TABLE]
1=255,255,255
; 2 is madder; its shade here is a stand-in
2=128,128,128

[WARP COLORS]
1=1
2=1
3=2

[THREADING]
1=1
2=2
3=3
4=4

[TIEUP]
1=1,2
2=2,3
3=0
4=1,4

[TREADLING]
1=1
2=0
3=2,4
"""


def read_back(text: str) -> tuple[Draft, tuple[str, ...]]:
    data = text.encode("utf-8")
    return read_wif(data, name="a.wif", first_end="right", draft_first_end="right")


def test_written_file_is_laid_out_as_the_standard_asks() -> None:
    """Every section in use is written and listed, the file's own heading first."""
    assert write_wif(TWILL, title="Tea\ntowel", shafts=8) == WRITTEN


def test_more_shafts_are_written_than_the_loom_has() -> None:
    """A draft that needs more shafts than were said is not cut down."""
    assert "Shafts=4\n" in write_wif(TWILL, title="", shafts=2)


shaft_numbers = st.integers(1, 16)
rows = st.lists(shaft_numbers, max_size=4).map(lambda row: tuple(sorted(set(row))))


@st.composite
def drafts(draw: st.DrawFn) -> Draft:
    shafts = tuple(draw(st.lists(shaft_numbers, min_size=1, max_size=40)))
    words = st.sampled_from(["", *WORDS, "madder", "sea; deep"])
    colours = tuple(draw(st.lists(words, min_size=len(shafts), max_size=len(shafts))))
    plain = Draft(shafts, colours, repeat_units(shafts), is_rising_shed=draw(st.booleans()))
    if draw(st.booleans()):
        return replace(plain, lifts=tuple(draw(st.lists(rows, max_size=12))))
    treadles = tuple(draw(st.lists(rows, max_size=8)))
    pressed = st.lists(st.integers(1, max(len(treadles), 1)), max_size=3 if treadles else 0)
    picks = st.lists(pressed.map(lambda pick: tuple(sorted(set(pick)))), max_size=12)
    return replace(plain, treadles=treadles, picks=tuple(draw(picks)))


def stripes(colours: tuple[str, ...]) -> list[int]:
    """Return for each end the first end of its colour, and -1 where it has none."""
    return [colours.index(colour) if colour else -1 for colour in colours]


@settings(deadline=None)
@given(drafts(), st.text(st.characters(codec="utf-8"), max_size=150))
def test_what_is_written_reads_back_the_same(draft: Draft, title: str) -> None:
    """Threading, stripes, tie-up, treadling and lift plan survive a round through the file."""
    found, _ = read_back(write_wif(draft, title=title, shafts=8))
    assert replace(found, colours=draft.colours, title="") == draft
    assert stripes(found.colours) == stripes(draft.colours)


@settings(deadline=None)
@given(st.lists(st.sampled_from(list(WORDS)), min_size=1, max_size=60))
def test_known_colour_words_read_back_as_themselves(colours: list[str]) -> None:
    """Words of our own table come back as the same words."""
    shafts = (1,) * len(colours)
    draft = Draft(shafts, tuple(colours), repeat_units(shafts))
    assert read_back(write_wif(draft, title="", shafts=4))[0].colours == tuple(colours)


@settings(deadline=None)
@given(st.text(max_size=300))
def test_title_cannot_break_the_file(title: str) -> None:
    """Line breaks, marks and brackets in a title stay inside it."""
    found, notes = read_back(
        write_wif(TWILL, title=title, shafts=4).encode("utf-8", "replace").decode()
    )
    assert (found.shafts, found.picks) == (TWILL.shafts, TWILL.picks)
    assert notes == ("1 of the picks press no treadle, first pick 2",)
    assert len(found.title) <= 120
