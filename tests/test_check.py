"""Contradictions in a plan: all told together, each with its line and its mend."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import event, given
from hypothesis import strategies as st
from small_plans import make_plan, straight, untimed

from companion.base.errors import PlanError
from companion.job import stage, stages
from companion.loom.check import contradictions
from companion.loom.compute import compute, compute_text
from companion.plan.file.reader import parse_plan
from companion.wording.remarks import told as remarked

SOUND = """\
title = "Tea towels"
[warp]
ends = 40
ends_per_inch = 20
[reed]
dents_per_inch = 10
width = 24
[loom]
shafts = 4
weaving_width = 24
heddles = [10, 10, 10, 10]
[raddle]
sections_per_inch = 2
width = 24
[blocks]
A = "1-2-3-4"
[[threading]]
block = "A"
times = "fill"
[groups]
by = "repeat"
size = 2
[tie_up]
shed = "rising"
treadles = ["1-2", "3-4"]
[[treadling]]
picks = "1-2"
"""


def told(*changes: tuple[str, str]) -> list[str]:
    """Return the problems of the sound plan after changes, one line each."""
    text = SOUND
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return [str(problem) for problem in contradictions(parse_plan(text, "towels.toml"))]


def test_a_sound_plan_has_no_problem() -> None:
    """The plan that the tests below break can be dressed as it stands."""
    assert told() == []


def test_everything_is_told_together_in_the_order_of_the_file() -> None:
    """A weaver mends a plan once, not once for each fault."""
    with pytest.raises(PlanError) as raised:
        compute(
            parse_plan(
                SOUND.replace("width = 24", "width = 1")
                .replace("[10, 10, 10, 10]", "[10, 10, 0, 9]")
                .replace('A = "1-2-3-4"', 'A = "1-2-3-5"')
                .replace('"3-4"]', '"3-6"]')
                .replace('picks = "1-2"', 'picks = "1-3"'),
                "towels.toml",
            )
        )
    assert raised.value.source == "towels.toml"
    assert [problem.place for problem in raised.value.problems] == [
        "line 7, reed.width",
        "line 10, loom.weaving_width",
        "line 11, loom.heddles",
        "line 14, raddle.width",
        "line 16, blocks.A",
        "line 25, tie_up.treadles.2",
        "line 26, treadling",
    ]


def test_a_warp_wider_than_the_reed() -> None:
    """Both widths are named in dents, and the width that would do."""
    (problem,) = told(("dents_per_inch = 10\nwidth = 24", "dents_per_inch = 10\nwidth = 1"))
    assert problem == (
        "line 7, reed.width: expected a warp within the reed's 10 dents, but 40 ends take "
        "2 inches, 20 dents. Use a reed of 2 inches or more, fewer ends, or a closer sett."
    )


def test_floating_selvedges_take_room_in_the_reed() -> None:
    """40 ends fill a 2-inch reed; a floating end each side is two dents too many."""
    changes = ("dents_per_inch = 10\nwidth = 24", "dents_per_inch = 10\nwidth = 2")
    assert told(changes) == []
    (problem,) = told(changes, ("[blocks]", "[selvedges]\nfloating = 1\n[blocks]"))
    assert "20 dents, but 40 ends take 2.2 inches, 22 dents" in problem


def test_inches_written_as_centimetres_are_suspected() -> None:
    """A 24-inch reed in a metric plan is told as what it may be."""
    plan = make_plan(straight(400), reed_width=24, units="metric")
    (problem,) = contradictions(plan)
    assert problem.mend == (
        "Use a reed of 50.8 cm or more, fewer ends, or a closer sett; "
        'if the reed is 24 inches wide, write units = "inch"'
    )


def test_a_warp_wider_than_the_loom() -> None:
    """The reed may be wide enough where the loom is not."""
    (problem,) = told(("weaving_width = 24", "weaving_width = 1.5"))
    assert problem == (
        "line 10, loom.weaving_width: expected a warp within the loom's 1.5 inches, but 40 ends "
        "take 2 inches, 20 dents. Use a loom of 2 inches or more, fewer ends, or a closer sett."
    )


def test_a_warp_wider_than_the_raddle() -> None:
    """Sections are counted on both sides."""
    (problem,) = told(("sections_per_inch = 2\nwidth = 24", "sections_per_inch = 2\nwidth = 1"))
    assert problem.startswith(
        "line 14, raddle.width: expected a warp within the raddle's 2 sections, but 40 ends take 4"
    )


@pytest.mark.parametrize(
    ("order", "made", "mend"),
    [
        ("1-2", "15 ends per inch", "15"),
        ("1-2-2", "about 16.67 ends per inch", '"16 2/3"'),
        ("1-1-1-2", "12.5 ends per inch", "12.5"),
    ],
)
def test_a_written_order_that_makes_another_sett(order: str, made: str, mend: str) -> None:
    """The sett it does make is named, and given to write exactly."""
    (problem,) = told(("width = 24\n[loom]", f'width = 24\nsley = "{order}"\n[loom]'))
    assert problem.startswith(
        f"line 8, reed.sley: expected an order that makes 20 ends per inch, but {order} in this "
        f"reed makes {made}. Write ends_per_inch = {mend}, "
    )


def test_a_written_order_may_miss_the_sett_by_a_metric_reed() -> None:
    """2 in a reed of 40 dents in 10 cm make 20.32: a note, not a problem."""
    changes = (
        "dents_per_inch = 10\nwidth = 24",
        'dents_per_10cm = 40\nwidth = 24\nsley = "2"',
    )
    assert told(changes) == []


@pytest.mark.parametrize(
    ("order", "fault"),
    [
        ("0-0", 'expected an order that puts ends into the reed, not "0-0"'),
        ("1-x", 'expected a number, not "x" at character 3'),
    ],
)
def test_a_written_order_that_cannot_be_sleyed_hides_nothing_else(order: str, fault: str) -> None:
    """Only empty dents hold no end; the shafts that the loom lacks are told with them."""
    slipped = SOUND.replace("[loom]\nshafts = 4", f'sley = "{order}"\n[loom]\nshafts = 3')
    with pytest.raises(PlanError) as refused:
        compute_text(slipped.replace("heddles = [10, 10, 10, 10]\n", ""), "towels.toml")
    order_told, shaft_told, *_ = map(str, refused.value.problems)
    assert order_told == f'line 8, reed.sley: {fault}. Write ends in each dent, such as "1-2-2".'
    assert shaft_told.startswith("line 16, blocks.A: expected shafts 1 to 3, as the loom has")


def test_an_absurd_sett_is_told_rather_than_computed() -> None:
    """A millionth of an end to the inch would take more dents than there are reeds."""
    plan = make_plan(straight(40), sett="0.000001", reed_width=1_000_000, dents=1_000_000)
    (problem,) = contradictions(plan)
    assert problem.fault.startswith("expected a warp within the reed's")


def test_heddles_for_another_number_of_shafts() -> None:
    """Every shaft needs its number."""
    (problem,) = told(("[10, 10, 10, 10]", "[10, 10, 10]"))
    assert problem == (
        "line 11, loom.heddles: expected heddles for each of the loom's 4 shafts, found 3 "
        "numbers. Write one number for each shaft, shaft 1 first, or leave heddles out."
    )


@pytest.mark.parametrize(
    ("heddles", "mend"),
    [
        ("[10, 10, 7, 10]", "Add 3 to shaft 3."),
        ("[11, 11, 7, 10]", "move 1 spare heddle from shaft 1 and 1 from shaft 2 and add 1."),
        ("[12, 10, 7, 10]", "or move 2 spare heddles from shaft 1 and add 1."),
    ],
)
def test_too_few_heddles(heddles: str, mend: str) -> None:
    """What is needed, there and missing, and where spare ones hang."""
    (problem,) = told(("[10, 10, 10, 10]", heddles))
    assert problem.startswith(
        "line 11, loom.heddles: expected 10 heddles on shaft 3, found 7, 3 short. "
    )
    assert problem.endswith(mend)


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('A = "1-2-3-4"', 'A = "1-2-3-5"', "line 16, blocks.A"),
        ('block = "A"', 'ends = "1-2-3-5"', "line 18, threading.1.ends"),
        ('block = "A"', 'named = "straight 8"', "line 18, threading.1.named"),
        ('block = "A"', 'parts = [{block = "A"}, {ends = "5"}]', "threading.1.parts.2.ends"),
    ],
)
def test_a_shaft_the_loom_does_not_have(old: str, new: str, place: str) -> None:
    """The very part of the threading that names the shaft is pointed at."""
    (problem,) = told((old, new), ("[10, 10, 10, 10]", "[99, 99, 99, 99]"))
    assert place in problem
    assert "expected shafts 1 to 4, as the loom has, found shaft" in problem


def test_a_shaft_the_loom_does_not_have_in_a_draft() -> None:
    """In a WIF file the first heddle is named, since the plan has no line for it."""
    plan = make_plan((1, 2, 3, 8, 7), draft="towels.wif")
    (problem,) = contradictions(plan)
    assert problem.place == "line 1, draft"
    assert problem.fault == (
        "expected shafts 1 to 4, as the loom has, found shafts 7 and 8, first in heddle 4"
    )


def test_a_tie_up_to_a_shaft_the_loom_does_not_have() -> None:
    """The treadle is named."""
    (problem,) = told(('"3-4"]', '"3-9"]'))
    assert problem == (
        "line 25, tie_up.treadles.2: expected shafts 1 to 4 on treadle 2, found shaft 9. "
        "Correct the tie-up, or loom.shafts if the loom has more."
    )


def test_a_treadling_of_a_treadle_not_tied() -> None:
    """The first pick that presses it is named."""
    (problem,) = told(('picks = "1-2"', 'picks = "1-2-1-3"'))
    assert problem.startswith(
        "line 26, treadling: expected treadles 1 to 2, as the tie-up has, but pick 4 presses 3."
    )


def test_a_treadling_without_a_tie_up() -> None:
    """Treadles that are tied to nothing weave nothing."""
    plan = make_plan(straight(8), drafted={"picks": ((1,), (2,))})
    (problem,) = contradictions(plan)
    assert problem.fault == "expected a tie-up for this treadling, found none"


def test_a_lift_plan_with_a_shaft_the_loom_does_not_have() -> None:
    """The first pick that lifts it is named."""
    plan = make_plan(straight(8), drafted={"lifts": ((1,), (2, 6))})
    (problem,) = contradictions(plan)
    assert problem.fault == "expected shafts 1 to 4, but pick 2 lifts 6"


@pytest.mark.parametrize(
    ("by", "fault"),
    [
        ("repeat", "at most the 10 repeats of this warp in a group, found 41"),
        ("block", "at most the 10 blocks of this warp in a group, found 41"),
        ("inch", "at most the 2 inches of this warp in a group, found 41"),
        ("cm", "at most the 6 cm of this warp in a group, found 41"),
        ("ends", "at most the 40 ends of this warp in a group, found 41"),
    ],
)
def test_a_group_larger_than_the_warp(by: str, fault: str) -> None:
    """What there is to group is named; 2 inches are 5.08 cm, so 6 are begun."""
    (problem,) = told(('by = "repeat"\nsize = 2', f'by = "{by}"\nsize = 41'))
    assert fault in problem


def test_an_eight_shaft_counterbalance_is_a_note() -> None:
    """Unusual is not impossible: the plan can be dressed."""
    plan = make_plan(straight(8), loom={"kind": "counterbalance", "shafts": 8})
    assert contradictions(plan) == ()
    assert any("balance each other" in remarked(note) for note in compute(plan).notes)


def test_a_shaft_never_used_is_a_note() -> None:
    """Spare shafts do no harm."""
    plan = make_plan((1, 2, 3, 1, 2, 3))
    assert contradictions(plan) == ()
    assert [remarked(note) for note in compute(plan).notes] == [
        "Shaft 4 is not used by this threading."
    ]


@untimed
@given(
    st.lists(st.integers(1, 4), min_size=1, max_size=60),
    st.fractions(Fraction(1, 1000), 1000, max_denominator=1000),
    st.fractions(Fraction(1, 1000), 1000, max_denominator=1000),
    st.fractions(Fraction(1, 10), 100, max_denominator=10),
    st.fixed_dictionaries(
        {
            "reed": st.fixed_dictionaries({"sley": st.sampled_from([None, "1-2", "0-1", "0-0-3"])}),
            "loom": st.fixed_dictionaries(
                {
                    "shafts": st.integers(3, 5),
                    "heddles": st.none() | st.lists(st.integers(0, 60), min_size=4, max_size=4),
                }
            ),
            "raddle": st.fixed_dictionaries(
                {
                    "sections_per_cm": st.integers(1, 9),
                    "width": st.none() | st.integers(1, 99),
                }
            ),
            "groups": st.fixed_dictionaries(
                {
                    "by": st.sampled_from(["repeat", "block", "inch", "cm", "ends"]),
                    "size": st.none() | st.integers(1, 9),
                }
            ),
        }
    ),
)
def test_any_plan_is_dressed_or_refused(
    shafts: list[int],
    sett: Fraction,
    dents: Fraction,
    reed_width: Fraction,
    tables: dict[str, dict[str, object]],
) -> None:
    """Whatever the figures, a plan gives a dressing and its steps, or problems with places."""
    plan = make_plan(shafts, sett=sett, dents=dents, reed_width=reed_width, **tables)
    problems = contradictions(plan)
    event(f"refused: {bool(problems)}")
    if problems:
        assert all(problem.place.startswith("line 1, ") for problem in problems)
        with pytest.raises(PlanError):
            compute(plan)
    else:
        dressing = compute(plan)
        assert all(stage(dressing, name).steps for name in stages(dressing))
