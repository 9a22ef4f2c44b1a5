"""What is written as WIF 1.1, and that it reads back as the same draft."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from hypothesis import given, settings
from hypothesis import strategies as st
from small_plans import plans

from companion.base.text import is_label
from companion.loom.compute import compute
from companion.plan.draft.draft import Draft, repeat_units
from companion.plan.schema import PlanFile
from companion.plan.wif.colours import WORDS
from companion.plan.wif.reader import read_wif
from companion.plan.wif.writer import write_wif

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan
    from companion.plan.values import Side

TWILL = Draft(
    shafts=(1, 2, 3, 4),
    colours=("white", "white", "madder", ""),
    units=repeat_units((1, 2, 3, 4)),
    treadles=((1, 2), (2, 3), (), (1, 4)),
    picks=((1,), (), (2, 4)),
)

# The [WIF] section: J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011). The rest of
# the layout: from memory of R. Nielsen, "Weaving Information File (WIF) Specification, Version
# 1.1" (tantradharma.com/maplehill/wif/wif1-1.txt), chapter V, of which only the opening was read.
WRITTEN = """\
[WIF]
Version=1.1
Date=April 20, 1997
Developers=wif@mhsoft.com
Source Program=companion

[CONTENTS]
TEXT=true
NOTES=true
WEAVING=true
WARP=true
WEFT=true
COLOR PALETTE=true
COLOR TABLE=true
WARP COLORS=true
PRIVATE COMPANION COLOR NAMES=true
THREADING=true
TIEUP=true
TREADLING=true

[TEXT]
Title=Tea towel

[NOTES]
1=Thread 1 is at the right edge, seen from the front of the loom.
2=Shades were made up for madder.

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
2=138,191,64

[WARP COLORS]
1=1
2=1
3=2

[PRIVATE COMPANION COLOR NAMES]
1=white
2=madder

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


def written(draft: Draft, title: str = "Tea towel", shafts: int = 8, **tables: Any) -> str:
    """Return a draft as a plan's WIF file."""
    file = {"title": title, "warp": {"ends_per_inch": 10}, "loom": {"shafts": shafts}, **tables}
    file["reed"] = {"dents_per_inch": 10, "width": 10}
    return write_wif(PlanFile.model_validate(file), draft)


def read_back(text: str, first_end: Side = "right") -> tuple[Draft, tuple[str, ...]]:
    """Return what our own reader makes of a file, for a plan that begins at an edge."""
    return read_wif(text, name="a.wif", first_end=first_end, draft_first_end="right")


def test_written_file_is_laid_out_as_the_standard_asks() -> None:
    """Every section in use is written and listed, the file's own heading first."""
    assert written(TWILL) == WRITTEN


def test_more_shafts_are_written_than_the_loom_has() -> None:
    """A draft that needs more shafts than were said is not cut down."""
    assert "Shafts=4\n" in written(TWILL, shafts=2)


def test_thread_one_is_at_the_right_edge_wherever_the_plan_begins() -> None:
    """A plan that begins at the left edge is written from its last end on."""
    file = written(TWILL, loom={"shafts": 4, "first_end": "left"})
    assert "[THREADING]\n1=4\n2=3\n3=2\n4=1\n" in file
    assert "[WARP COLORS]\n2=2\n3=1\n4=1\n" in file
    assert read_back(file, "left")[0].shafts == TWILL.shafts


def test_what_has_no_place_in_the_format_is_said_in_its_notes() -> None:
    """Doubled heddles and floating selvedges are not lost without a word."""
    file = written(TWILL, selvedges={"doubled": 2, "floating": 1})
    assert "2=The 2 threads at each edge stand for two ends each, which share one heddle." in file
    assert "3=Floating selvedges, 1 at each edge, are not among the threads." in file


def test_unknown_colours_have_shades_of_their_own() -> None:
    """One that names a known colour has its shade; others lie far apart, so stripes show."""
    names = ("pale red brick", "madder", "weld")
    file = written(replace(TWILL, shafts=(1, 2, 3), colours=names))
    table = file[file.index("[COLOR TABLE]") :].splitlines()[1:4]
    red, *others = (tuple(map(int, line[2:].split(","))) for line in table)
    assert red == WORDS["red"]
    assert len({red, *others}) == 3
    assert sum(abs(one - other) for one, other in zip(*others, strict=True)) > 100


shaft_numbers = st.integers(1, 16)
rows = st.lists(shaft_numbers, max_size=4).map(lambda row: tuple(sorted(set(row))))
names = st.text(min_size=1, max_size=60).filter(is_label).map(str.strip)


@st.composite
def drafts(draw: st.DrawFn) -> Draft:
    shafts = tuple(draw(st.lists(shaft_numbers, min_size=1, max_size=40)))
    words = st.sampled_from(["", *WORDS, "madder", "sea; deep"]) | names
    colours = tuple(draw(st.lists(words, min_size=len(shafts), max_size=len(shafts))))
    plain = Draft(shafts, colours, repeat_units(shafts), is_rising_shed=draw(st.booleans()))
    if draw(st.booleans()):
        return replace(plain, lifts=tuple(draw(st.lists(rows, max_size=12))))
    treadles = tuple(draw(st.lists(rows, max_size=8)))
    pressed = st.lists(st.integers(1, max(len(treadles), 1)), max_size=3 if treadles else 0)
    picks = st.lists(pressed.map(lambda pick: tuple(sorted(set(pick)))), max_size=12)
    return replace(plain, treadles=treadles, picks=tuple(draw(picks)))


@settings(deadline=None)
@given(drafts(), names, st.sampled_from(["right", "left"]))
def test_what_is_written_reads_back_the_same(draft: Draft, title: str, first_end: Side) -> None:
    """Threading, colours by name, tie-up, treadling and lift plan survive a round, either edge."""
    loom = {"shafts": 8, "first_end": first_end}
    found, _ = read_back(written(draft, title=title, loom=loom), first_end)
    assert replace(found, title="") == draft


@settings(deadline=None)
@given(st.lists(st.sampled_from(list(WORDS)), min_size=1, max_size=60))
def test_known_colour_words_read_back_by_their_shades(colours: list[str]) -> None:
    """Words of our own table come back as the same words, without our own section too."""
    shafts = (1,) * len(colours)
    draft = Draft(shafts, tuple(colours), repeat_units(shafts))
    file = written(draft).replace("PRIVATE COMPANION COLOR NAMES", "PRIVATE OTHER X")
    assert read_back(file)[0].colours == tuple(colours)


@settings(deadline=None)
@given(names)
def test_title_cannot_break_the_file(title: str) -> None:
    """Marks and brackets in a title stay inside it."""
    found, notes = read_back(written(TWILL, title=title).encode("utf-8", "replace").decode())
    assert (found.shafts, found.picks) == (TWILL.shafts, TWILL.picks)
    assert notes == ("1 of the picks press no treadle, first pick 2",)
    assert len(found.title) <= 120


@settings(deadline=None)
@given(plans(), st.sampled_from(["right", "left"]))
def test_a_plan_dresses_the_same_by_its_own_wif_file(plan: Plan, first_end: Side) -> None:
    """Every end has the heddle, dent and colour it had before."""
    loom = plan.file.loom.model_copy(update={"first_end": first_end})
    own = replace(plan, file=plan.file.model_copy(update={"loom": loom}))
    found, _ = read_back(write_wif(own.file, own.draft), first_end)
    again = replace(own, draft=replace(found, title=own.draft.title, units=own.draft.units))
    assert again.draft == own.draft
    assert compute(again).ends == compute(own).ends
