"""What a WIF file is read as, however untidily it is written.

The fixtures in tests/data/wif are our own; their layout follows WIF 1.1, the opening section as in
J. R. L. Earl, "Using a WIF to Make a Drawdown by Hand" (2011), the rest from memory.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from companion.plan.draft.draft import Draft, Unit
from companion.plan.fault import MOST_TOLD
from companion.plan.wif.reader import WifReading, read_wif
from companion.plan.wif.sections import decode

WIF = Path(__file__).parent / "data" / "wif"
TWILL = (WIF / "twill.wif").read_text(encoding="ascii")
STRAIGHT = (1, 2, 3, 4, 1, 2, 3, 4)
TWILL_TIE_UP = ((1, 2), (2, 3), (3, 4), (1, 4))


def reading(text: str | bytes) -> WifReading:
    data = text if isinstance(text, bytes) else text.encode("utf-8")
    return read_wif(decode(data, "a.wif"), name="a.wif", first_end="right", draft_first_end="right")


def draft(text: str | bytes) -> Draft:
    return reading(text).draft


def small(threading: str, more: str = "") -> str:
    return f"[WIF]\nVersion=1.1\n[THREADING]\n{threading}\n{more}\n"


def test_tidy_file_is_read_without_notes() -> None:
    """Every field of the draft comes out of a tidy file, and nothing had to be tolerated."""
    expected = Draft(
        shafts=STRAIGHT,
        colours=("",) * 8,
        units=(Unit("", 1, 1, 1, 4), Unit("", 2, 2, 5, 8)),
        treadles=TWILL_TIE_UP,
        is_rising_shed=True,
        picks=((1,), (2,), (3,), (4,)),
        lifts=(),
        title="Twill; two and two",
    )
    assert reading(TWILL) == WifReading(expected, ())


def test_lift_plan_is_read() -> None:
    """A file without treadles gives a lift plan instead."""
    found = draft((WIF / "twill-liftplan.wif").read_bytes())
    assert (found.shafts, found.treadles, found.picks) == (STRAIGHT, (), ())
    assert found.lifts == TWILL_TIE_UP


@pytest.mark.parametrize(
    ("first_end", "draft_first_end", "is_turned"),
    [
        ("right", "right", False),
        ("left", "left", False),
        ("right", "left", True),
        ("left", "right", True),
    ],
)
def test_threading_starts_at_the_plans_edge(
    first_end: str, draft_first_end: str, *, is_turned: bool
) -> None:
    """Where the file counts from the other edge, shafts and colours turn round together."""
    more = "[COLOR TABLE]\n1=0,0,0\n2=255,255,255\n[WARP COLORS]\n1=1\n2=2\n3=2"
    data = small("1=1\n2=2\n3=3", more)
    found = read_wif(
        data,
        name="a.wif",
        first_end="left" if first_end == "left" else "right",
        draft_first_end="left" if draft_first_end == "left" else "right",
    ).draft
    shafts, colours = (1, 2, 3), ("black", "white", "white")
    expected = (shafts[::-1], colours[::-1]) if is_turned else (shafts, colours)
    assert (found.shafts, found.colours) == expected


@pytest.mark.parametrize(
    "data",
    [
        TWILL.replace("\n", "\r\n").encode(),
        TWILL.replace("\n", "\r").encode(),
        TWILL.encode() + b"\x1a",
        TWILL.encode() + b"\x1a" + bytes(100),
        TWILL.encode("utf-8-sig"),
        TWILL.encode("utf-16"),
        TWILL.replace("=", "\t = ").replace(",", " ,\t").encode(),
        TWILL.replace("1,2", "2, 1,, ").encode(),
        TWILL.replace("1,2", "1 2").encode(),
        TWILL.replace("8=4", "8=4.0").replace("5=1\n", "005.0=01\n").encode(),
        TWILL.replace("8=4", "8=4 ; the last thread").encode(),
        TWILL.replace("8=4", "; a remark\n\n   \n\t8=4").encode(),
        TWILL.replace("[THREADING]", "[ threading ] ; order").upper().encode(),
        TWILL.replace("Rising Shed=yes", "RISING SHED=On").encode(),
        TWILL.replace("Rising Shed=yes", "rising shed= 1 ").encode(),
        TWILL.replace("4=1,4", "4=0,1,4,4").encode(),
        TWILL.replace("[TREADLING]", "[PRIVATE x y]\nwhat=ever [%(\n[TREADLING]").encode(),
        TWILL.replace("[TREADLING]", "[NOTES]\n1=100% cotton: [loose]\n[TREADLING]").encode(),
    ],
    ids=range(18),
)
def test_untidy_file_means_the_same(data: bytes) -> None:
    """Line ends, marks, blanks, remarks, capitals and number forms do not change the draft."""
    found = draft(data)
    assert found.title.casefold() == "twill; two and two"
    assert (found.shafts, found.treadles) == (STRAIGHT, TWILL_TIE_UP)
    assert (found.picks, found.is_rising_shed) == (((1,), (2,), (3,), (4,)), True)


def test_accents_of_an_old_code_page_are_read() -> None:
    """A title in Windows-1252, as older programs wrote it, keeps its accents."""
    title = "Rosengång, façonné"
    assert draft(TWILL.replace("Twill; two and two", title).encode("cp1252")).title == title


def test_order_of_lines_and_sections_is_free() -> None:
    """Threads may stand in any order and sections too."""
    found = draft("[THREADING]\n3=3\n1=1\n2=2\n[TREADLING]\n2=1\n1=2\n[TIEUP]\n2=2\n1=1\n[WIF]")
    assert (found.shafts, found.treadles) == ((1, 2, 3), ((1,), (2,)))
    assert found.picks == ((2,), (1,))


def test_last_of_two_lines_or_sections_counts() -> None:
    """A number or section written twice is taken from its last place and noted."""
    found = reading(small("1=1\n2=nonsense\n2=2", "[threading]\n1=3\n2=x\n2=4"))
    assert found.draft.shafts == (3, 4)
    assert found.notes == (
        "line 7: section THREADING stands twice, the last one is used",
        "line 10, THREADING 2: stands twice, the last one is used",
    )


def test_sections_are_believed_over_the_contents() -> None:
    """A list of contents that is wrong both ways is noted and changes nothing."""
    text = TWILL.replace("TREADLING=yes", "LIFTPLAN=yes")
    found = reading(text)
    assert found.draft == draft(TWILL)
    assert found.notes == (
        "CONTENTS names LIFTPLAN, but the file has no such section",
        "CONTENTS does not name TREADLING, which is there",
    )


def test_missing_heading_is_noted() -> None:
    """A threading without a [WIF] section is read all the same."""
    found = reading("[THREADING]\n1=1\n2=2\n")
    assert found.draft.shafts == (1, 2)
    assert found.notes == ("there is no [WIF] section; the file is read as WIF 1.1 all the same",)


def test_threading_is_followed_where_the_file_counts_short() -> None:
    """More threads or shafts than the file says are kept and noted."""
    found = reading(TWILL.replace("Threads=8", "Threads=6").replace("Shafts=4", "Shafts=2"))
    assert found.draft.shafts == STRAIGHT
    assert found.notes == (
        "WARP says 6 threads, the threading has 8, which is followed",
        "WEAVING says 2 shafts, the threading uses 4",
    )


def test_unused_shafts_are_no_matter() -> None:
    """A threading of four shafts in a file for eight needs no note."""
    assert reading(TWILL.replace("Shafts=4", "Shafts=8")).notes == ()


def test_sinking_shed_is_kept() -> None:
    """A file whose tied shafts sink says so in the draft."""
    assert not draft(TWILL.replace("Rising Shed=yes", "Rising Shed=false")).is_rising_shed


def test_shed_that_is_not_told_is_taken_as_rising() -> None:
    """Rising is assumed, and said."""
    found = reading(TWILL.replace("Rising Shed=yes", ""))
    assert found.draft.is_rising_shed
    assert found.notes == (
        "the file does not say whether its shed rises or sinks; rising is assumed",
    )


def test_treadles_pressed_together_are_one_pick() -> None:
    """A pick may press several treadles, in whatever order they are written."""
    assert draft(TWILL + "5=4,1\n").picks[4] == (1, 4)


def test_pick_without_treadle_is_kept_and_noted() -> None:
    """A gap in the treadling stays a pick, so that later picks keep their numbers."""
    found = reading(TWILL + "6=1\n7=0\n")
    assert found.draft.picks == ((1,), (2,), (3,), (4,), (), (1,), ())
    assert found.notes[0] == "2 of the picks press no treadle, first pick 5"


def test_treadle_that_is_not_tied_is_kept_and_noted() -> None:
    """A pick on treadle 6 of a tie-up of four leaves two treadles without shafts."""
    found = reading(TWILL + "5=6\n")
    assert found.draft.treadles == (*TWILL_TIE_UP, (), ())
    assert found.notes[0] == "treadles up to 6 are pressed, but the tie-up ends at 4"


LIFT_PLAN = "[LIFTPLAN]\n1=1,2\n2=2,3\n3=3,4\n4=1,4\n"


def both(lift_plan: str, shed: str = "yes") -> WifReading:
    text = TWILL.replace("Rising Shed=yes", f"Rising Shed={shed}")
    return reading(text.replace("TREADLING=yes", "TREADLING=yes\nLIFTPLAN=yes") + lift_plan)


def test_lift_plan_that_repeats_the_treadling_is_left_out() -> None:
    """Two ways to say the same give one draft, with the treadles a floor loom needs."""
    assert both(LIFT_PLAN) == WifReading(draft(TWILL), ())


def test_lift_plan_of_a_sinking_shed_agrees_either_way() -> None:
    """Under a sinking shed the lift plan may name the shafts that sink or those that stay up."""
    up = "[LIFTPLAN]\n1=3,4\n2=1,4\n3=1,2\n4=2,3\n"
    for lift_plan in (LIFT_PLAN, up):
        found = both(lift_plan, "no")
        assert (found.draft.treadles, found.draft.lifts) == (TWILL_TIE_UP, ())
        assert found.notes == ()


def test_lift_plan_that_differs_is_followed_and_noted() -> None:
    """Where the two contradict each other the lift plan wins, and the first pick is named."""
    found = both(LIFT_PLAN.replace("3=3,4", "3=3"))
    assert (found.draft.treadles, found.draft.picks) == ((), ())
    assert found.draft.lifts == ((1, 2), (2, 3), (3,), (1, 4))
    assert found.notes == (
        "the lift plan and the treadling differ, first at pick 3; the lift plan is followed",
    )


def test_lift_plan_longer_than_the_treadling_differs() -> None:
    """A pick that only one of the two has is a difference."""
    assert (
        both(LIFT_PLAN + "5=1\n")
        .notes[0]
        .startswith("the lift plan and the treadling differ, first at pick 5")
    )


def test_tied_treadles_stay_beside_a_lift_plan_without_treadling() -> None:
    """A tie-up with nothing pressed does not contradict a lift plan."""
    text = TWILL[: TWILL.index("[TREADLING]")] + LIFT_PLAN
    found = draft(text)
    assert (found.treadles, found.lifts) == (TWILL_TIE_UP, TWILL_TIE_UP)


def test_lift_plan_alone_is_taken_as_lifted() -> None:
    """A lift plan lifts, even in a file that speaks of a sinking shed; that is noted."""
    text = (WIF / "twill-liftplan.wif").read_text(encoding="ascii")
    found = reading(text.replace("Rising Shed=yes", "Rising Shed=no"))
    assert found.draft.lifts == TWILL_TIE_UP
    assert found.notes == (
        "the lift plan is read as shafts lifted, though the file has a sinking shed",
    )


def test_long_lines_and_long_files_are_read() -> None:
    """Neither 64 kilobytes nor a line of a hundred thousand characters is a limit."""
    threads = "\n".join(f"{thread}={thread % 4 + 1}" for thread in range(1, 20_001))
    found = draft(small(threads, "[TIEUP]\n1=" + "1,2," * 25_000))
    assert (len(found.shafts), found.treadles) == (20_000, ((1, 2),))


def test_notes_stay_few() -> None:
    """A file with thousands of oddities is told in a few notes and a number."""
    found = reading(small("1=1\n" * 2_000))
    assert len(found.notes) == MOST_TOLD + 1
    assert found.notes[-1] == f"{1_999 - MOST_TOLD} more notes like these were left out"


def test_title_is_one_short_line() -> None:
    """A title that could upset a screen reader is cleaned and cut."""
    text = TWILL.replace("Twill; two and two", "  A\t\x07title \u200b" + "y" * 500)
    assert draft(text).title == "A title " + "y" * 112


def test_a_section_that_the_contents_deny_is_not_used() -> None:
    """A lift plan that is there, but said not to be, does not overrule the treadles."""
    text = TWILL.replace("TREADLING=yes", "TREADLING=yes\nLIFTPLAN=false")
    found = reading(text + LIFT_PLAN.replace("3=3,4", "3=3"))
    assert found.draft == draft(TWILL)
    assert found.notes == (
        "CONTENTS says that there is no LIFTPLAN, so what stands there is not used",
    )


def test_a_threading_is_followed_whatever_the_contents_say() -> None:
    """Without it there would be nothing to dress."""
    found = reading(TWILL.replace("THREADING=yes", "THREADING=no"))
    assert found.draft == draft(TWILL)
    assert found.notes == (
        "CONTENTS says that there is no THREADING, but there is one, which is followed",
    )


@pytest.mark.parametrize(("said", "is_rising"), [("F", False), ("n", False), ("T", True)])
def test_a_first_letter_says_which_way_the_shed_goes(said: str, is_rising: bool) -> None:  # noqa: FBT001
    """F is false, as any reader would take it."""
    found = reading(TWILL.replace("Rising Shed=yes", f"Rising Shed={said}"))
    assert (found.draft.is_rising_shed, found.notes) == (is_rising, ())


def test_a_shed_that_is_not_understood_is_said() -> None:
    """It is not the same as saying nothing."""
    found = reading(TWILL.replace("Rising Shed=yes", "Rising Shed=perhaps"))
    assert found.notes == (
        'expected true or false for the rising shed, found "perhaps"; rising is assumed',
    )


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ("Rising Shed=yes", "Rising Shed=no\nRising Shed=yes", "WEAVING rising shed"),
        ("[THREADING]", "[COLOR TABLE]\n1=0,0,0\n1=9,9,9\n[THREADING]", "COLOR TABLE 1"),
    ],
)
def test_a_key_that_stands_twice_is_said(old: str, new: str, place: str) -> None:
    """The last one counts, and the weaver hears of it."""
    notes = reading(TWILL.replace(old, new)).notes
    assert [note.partition(", ")[2] for note in notes if "twice" in note] == [
        f"{place}: stands twice, the last one is used"
    ]


@pytest.mark.parametrize(("threads", "told"), [(4, ()), (6, ("6 picks",)), (1, ("1 pick",))])
def test_a_treadling_of_another_length_than_the_weft_is_said(
    threads: int, told: tuple[str, ...]
) -> None:
    """Picks are never made up."""
    text = re.sub(r"\[WEFT\]\nThreads=\d+", f"[WEFT]\nThreads={threads}", TWILL)
    found = reading(text)
    assert found.draft == draft(TWILL)
    assert found.notes == tuple(
        f"WEFT says {said}, but 4 are listed, and followed" for said in told
    )
