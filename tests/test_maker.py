"""The plan maker: one table of questions, faults told at their question, every plan a sound one."""

from __future__ import annotations

import re
import tomllib
from itertools import groupby
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.loom.compute import compute
from companion.maker.interview import READ_BACK, Interview
from companion.maker.more_ways import MORE_WAYS
from companion.maker.plan_writer import make, plan_text
from companion.maker.question import AnswerError
from companion.maker.questions import BY_KEY, QUESTIONS, asked, read_all, read_answer
from companion.out.board.maker_page import filled
from companion.out.report import report
from companion.plan.file.field_texts import field_at
from companion.plan.file.reader import parse_plan
from companion.plan.threading.named import named_threadings

if TYPE_CHECKING:
    from pathlib import Path


def answers(**typed: str) -> dict[str, str]:
    """Return a whole set of answers, the defaults where nothing else is said."""
    found, faults = read_all(typed)
    assert faults == {}
    return found


def threaded(**typed: str) -> tuple[int, ...]:
    """Return the shaft of every end of the plan that answers make."""
    made = make(answers(**typed))
    assert made.faults == {}
    assert made.dressing is not None
    return tuple(end.shaft for end in made.dressing.ends)


# ---- the table


def test_each_question_is_asked_once_and_can_be_heard() -> None:
    """A question is one sentence that ends in a question mark, with keys and places of the plan."""
    assert len(BY_KEY) == len(QUESTIONS)
    for question in QUESTIONS:
        assert question.ask.endswith("?")
        assert len(question.ask) < 80
        assert question.hint == "" or question.hint.endswith(".")
        assert all(field_at(tuple(place.split("."))) for place in question.places)


def test_questions_stand_after_what_they_depend_on() -> None:
    """A question's conditions name earlier ones, so an interview never turns back by itself."""
    order = [question.key for question in QUESTIONS]
    for question in QUESTIONS:
        assert all(order.index(when.key) < order.index(question.key) for when in question.when)


@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize("shafts", ["2", "4", "7", "8", "16", "40"])
@pytest.mark.parametrize("method", ["back-to-front", "front-to-back"])
def test_the_defaults_alone_make_a_plan(units: str, shafts: str, method: str) -> None:
    """Whoever only presses Enter gets a plan that can be dressed."""
    made = make(answers(units=units, shafts=shafts, method=method))
    assert made.faults == {}
    assert made.dressing is not None
    assert len(made.dressing.ends) == 100


@pytest.mark.parametrize("key", named_threadings())
def test_every_named_threading_can_be_asked_for(key: str) -> None:
    """Each common threading goes in whole as often as it fits, then as far as the ends go."""
    repeat = named_threadings()[key].shafts
    expected = tuple((repeat * 100)[:100])
    assert threaded(shafts=str(max(2, *repeat)), threading=key) == expected


# ---- answers


@pytest.mark.parametrize(
    ("key", "typed", "expected"),
    [
        ("title", "x" * 121, "a line of 1 to 120 characters"),
        ("units", "feet", "inch or metric"),
        ("shafts", "1", "a whole number of shafts from 2 to 64"),
        ("shafts", "some", "a whole number of shafts"),
        ("shafts", "4 treadles", "a whole number of shafts"),
        ("ends", "10,5", "a whole number of ends"),
        ("ends", "-5", "a whole number of ends"),
        ("ends", "9" * 30, "a whole number of ends"),
        ("ends", "\u00b2", "a whole number of ends"),
        ("ends_per_inch", "0", "ends in an inch, a number above 0"),
        ("ends_per_inch", "12 ells", "ends in an inch, a number above 0"),
        ("ends_per_inch", "5 per cm", "ends in an inch in inches, as this plan measures"),
        ("reed_width", "60 cm", "a width in inches, as this plan measures"),
        ("first_end", "edge", "right or left"),
        ("reed_width", "1/0", "a width, a number above 0"),
        ("threading", "zigzag", "the name of a threading"),
        ("threading", "1-2-5", "a number from 1 to 4"),
        ("threading", "straight 8", "a threading for 4 shafts"),
        ("heddles", "100 100", "one number of heddles for every shaft, or 4 numbers"),
        ("tie_up", "1-2, 9", "a number from 1 to 4"),
        ("colours", "4 white, blue", "a number of ends and a colour for each run"),
        ("colours", "border 4 white", "one border and one middle"),
        ("heddles", "60 some", "one number of heddles for every shaft, or 4 numbers"),
        ("colours", "0 white", "a number of ends and a colour for each run"),
        ("floating", "9", "a whole number of ends from 0 to 8"),
        # What is unclear is asked again, never guessed.
        ("ends", "about 300", "a whole number of ends"),
        ("take_up", "0.1", "per cent"),
        ("first_end", "not right", "right or left"),
        ("first_end", "right or left", "right or left"),
        ("pieces", "a few", "a whole number of pieces"),
        ("reed_width", "1 m", "a width"),
        ("threading", "tabby", "the name of a threading"),
        ("threading", "1-4", "Say 1 to 4, or 1, 4 for those two alone"),
        ("lifts", "1-3, 2-4", "plus signs between shafts that are raised together"),
        ("lifts", "1-3 2-4", "plus signs between shafts that are raised together"),
        ("ends_per_inch", "8/2", "ends in an inch, a number above 0"),
        ("dents_per_10cm", "5/cm", "Count them over 10 centimetres"),
        ("pieces", '30"', "a whole number of pieces"),
        ("pieces", "30 inches", "a whole number of pieces"),
        ("floating", "2 in all", "a whole number of ends from 0 to 8"),
        ("colours", "white and blue", "a number of ends and a colour for each run"),
        ("colours", "stripes", "a number of ends and a colour for each run"),
        ("colours", "border 4 white, middle red/blue", "a number of ends and a colour for each"),
        ("title", "\x1b[31m", "characters that can be printed"),
    ],
)
def test_an_answer_that_does_not_fit_is_told(key: str, typed: str, expected: str) -> None:
    """One line says what was expected, what came and what to do."""
    with pytest.raises(AnswerError) as caught:
        read_answer(BY_KEY[key], typed, answers())
    line = str(caught.value)
    assert line.startswith("Expected ")
    assert expected in line
    assert "\n" not in line
    assert line.count(". ") >= 1


def test_a_threading_that_is_offered_fits_the_loom() -> None:
    """Of the names that resemble what was typed only those are offered that these shafts hold."""
    with pytest.raises(AnswerError, match=r"Answer straight 4 if that is meant"):
        read_answer(BY_KEY["threading"], "right", answers())


@pytest.mark.parametrize(
    ("key", "typed", "kept"),
    [
        ("units", "M", "metric"),
        ("first_end", "LEFT", "left"),
        ("method", "front", "front-to-back"),
        ("ends", "1,200", "1200"),
        ("ends", "240 ends", "240"),
        ("shafts", "eight", "8"),
        ("shafts", "4 shafts", "4"),
        ("units", "inches", "inch"),
        ("units", "in", "inch"),
        ("units", "cm", "metric"),
        ("units", "Centimetres", "metric"),
        ("method", "back to front", "back-to-front"),
        ("method", "from front to back", "front-to-back"),
        ("passes", "two passes", "separate"),
        ("first_end", "the left edge", "left"),
        ("size_by", "the number of ends", "ends"),
        ("ends_per_inch", "12 epi", "12"),
        ("ends_per_inch", "twelve ends per inch", "12"),
        ("ends_per_inch", "7,5", "7.5"),
        ("reed_width", '36"', "36"),
        ("reed_width", "36 inches", "36"),
        ("reed_width", "16 and a half", "16 1/2"),
        ("reed_width", "16\u00bd", "16 1/2"),
        ("reed_width", "36 inches wide", "36"),
        ("reed_width", "a yard", "36"),
        ("finished", "1 1/2 yards", "54"),
        ("finished", "a yard and a half", "54"),
        ("finished", "two yards and a half", "90"),
        ("finished", "half a yard", "18"),
        ("kind", "counter march", "countermarch"),
        ("finished", "two and a half feet", "30"),
        ("loom_waste", "none", "0"),
        ("floating", "none", "0"),
        ("dents_per_inch", "10 dent", "10"),
        ("dents_per_inch", "a 10-dent reed", "10"),
        ("dents_per_10cm", "50/10", "50"),
        ("dents_per_10cm", "40 dents per 10 cm", "40"),
        ("first_end", "on the right", "right"),
        ("first_end", "right hand side", "right"),
        ("method", "b2f", "back-to-front"),
        ("passes", "both at once", "together"),
        ("shed", "it is a jack loom", "rising"),
        ("pieces", "three towels", "3"),
        ("take_up", "ten percent", "10 %"),
        ("tie_up", "1 and 3, 2 and 4", "1 and 3, 2 and 4"),
        ("floating", "one", "1"),
        ("floating", "1 on each side", "1"),
        ("reed_width", "  16  1/2 ", "16 1/2"),
        ("title", "", "A new plan"),
        ("width", "2'", "24"),
        ("width", "24''", "24"),
        ("ends_per_inch", "15/inch", "15"),
        ("shafts", "a four shaft loom", "4"),
        ("floating", "1 per side", "1"),
        ("kind", "I don't know", "unknown"),
        ("colours", "don't know", "don't know"),
    ],
)
def test_short_and_loose_answers_are_understood(key: str, typed: str, kept: str) -> None:
    """A beginning of a word will do, spaces do not matter, nothing is the default."""
    assert read_answer(BY_KEY[key], typed, answers()) == kept


@given(st.sampled_from(QUESTIONS), st.text(max_size=60))
def test_no_answer_breaks_a_question(question: object, typed: str) -> None:
    """Whatever is typed is either understood or told, never anything else."""
    asked_now = next(each for each in QUESTIONS if each is question)
    try:
        kept = read_answer(asked_now, typed, {**answers(), "tie_up": "1-2, 3-4"})
    except AnswerError as error:
        kept = str(error)
    assert kept == " ".join(kept.split())
    assert kept.isprintable() or asked_now.key != "title"


# ---- plans


WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20
)
TYPED = st.fixed_dictionaries(
    {},
    optional={
        "title": WORDS,
        "units": st.sampled_from(["inch", "metric"]),
        "shafts": st.integers(2, 12).map(str),
        "threading": st.sampled_from(
            ["1-2", "2-1-2", "1 to 2 to 1", "straight", "point", "rosepath 4 a", "huck a"]
        ),
        "size_by": st.sampled_from(["ends", "width"]),
        "ends": st.integers(1, 400).map(str),
        "width": st.sampled_from(["1", "7 1/2", "12.25", "30"]),
        "ends_per_inch": st.sampled_from(["6", "12", "15", "7.5", "22 1/2"]),
        "ends_per_cm": st.sampled_from(["2", "5", "7.5"]),
        "dents_per_inch": st.sampled_from(["5", "8", "10", "12"]),
        "dents_per_10cm": st.sampled_from(["40", "50", "60"]),
        "reed_width": st.sampled_from(["10", "36", "120"]),
        "first_end": st.sampled_from(["right", "left"]),
        "method": st.sampled_from(["back-to-front", "front-to-back"]),
        "passes": st.sampled_from(["together", "separate"]),
        "heddles": st.sampled_from(["unknown", "500", "10"]),
        "raddle": st.sampled_from(["none", "2"]),
        "raddle_cm": st.sampled_from(["none", "1"]),
        "floating": st.integers(0, 2).map(str),
        "colours": st.sampled_from(["none", "white", "4 white, 3 blue", "900 red"]),
        "tie_up": st.sampled_from(["none", "1, 2", "1-2, 1, 2"]),
        "shed": st.sampled_from(["rising", "sinking"]),
        "picks": st.sampled_from(["none", "1-2", "1+2, 2"]),
        "finished": st.sampled_from(["none", "30", "72.5"]),
        "pieces": st.sampled_from(["1", "4"]),
        "take_up": st.sampled_from(["10", "12.5 %"]),
        "loom_waste": st.sampled_from(["0", "30"]),
        "more": st.lists(st.sampled_from([way.answer for way in BY_KEY["more"].choices[1:]]),
                         min_size=1, max_size=3).map(" and ".join),
        "regions": st.sampled_from(["12 at 3, 12 at 1, 2 empty, repeated", "40 at 2, 60 at 1-2"]),
        "old_ends": st.sampled_from(["100", "40"]),
        "first_colour": st.sampled_from(["white", "blue"]),
    },
)  # fmt: skip


@settings(max_examples=30)
@given(TYPED)
def test_every_plan_made_is_one_our_reader_takes(typed: dict[str, str]) -> None:
    """What has no fault at its questions is read and dressed, with the ends and title asked for."""
    found, faults = read_all(typed)
    if faults:
        assert all(BY_KEY[key].applies(found) for key in faults)
        return
    made = make(found)
    if made.faults:
        assert set(made.faults) <= {question.key for question in asked(found)}
        return
    plan = parse_plan(made.text, "made.toml")
    dressing = compute(plan)
    assert plan.file.title == found["title"]
    if "ends" in found:
        assert len([end for end in dressing.ends if end.shaft]) == int(found["ends"])
    assert tomllib.loads(plan_text(found))["units"] == found["units"]


def test_what_is_over_begins_the_repeat_once_more() -> None:
    """22 ends of a point on 4 shafts are 3 repeats of 6 and the first 4 ends of the next."""
    assert threaded(threading="point", ends="22") == (1, 2, 3, 4, 3, 2) * 3 + (1, 2, 3, 4)


def test_runs_of_colour_go_on_to_the_last_end() -> None:
    """4 white and 2 blue over 16 ends are two rounds and 4 white."""
    made = make(answers(ends="16", colours="4 white, 2 blue"))
    assert made.dressing is not None
    colours = [end.colour for end in made.dressing.ends]
    assert colours == (["white"] * 4 + ["blue"] * 2) * 2 + ["white"] * 4


@pytest.mark.parametrize(
    ("typed", "runs"),
    [  # Written out by hand for 16 ends.
        ("white 4, blue 2", [("white", 4), ("blue", 2), ("white", 4), ("blue", 2), ("white", 4)]),
        ("4 white 2 blue", [("white", 4), ("blue", 2), ("white", 4), ("blue", 2), ("white", 4)]),
        ("4 ends of white and 12 blue", [("white", 4), ("blue", 12)]),
        ("border 3 white, middle blue", [("white", 3), ("blue", 10), ("white", 3)]),
        (
            "borders: white 2, blue 1; middle: 5 white",
            [("white", 2), ("blue", 1), ("white", 10), ("blue", 1), ("white", 2)],
        ),
        ("edge 2 red, centre 3 white 3 blue", [
            ("red", 2), ("white", 3), ("blue", 3), ("white", 3), ("blue", 3), ("red", 2),
        ]),
        ("3 white borders, blue middle", [("white", 3), ("blue", 10), ("white", 3)]),
        ("blue with 3 white at both edges", [("white", 3), ("blue", 10), ("white", 3)]),
        ("3 white on each side, blue in the middle", [("white", 3), ("blue", 10), ("white", 3)]),
        ("blue with a 3 white stripe at each side", [("white", 3), ("blue", 10), ("white", 3)]),
        ("navy blue", [("navy blue", 16)]),
        ("all white", [("white", 16)]),
        ("navy blue 10, off white 6", [("navy blue", 10), ("off white", 6)]),
        ("white x 10, blue x 6", [("white", 10), ("blue", 6)]),
        ("10x white then 6 blue, repeated", [("white", 10), ("blue", 6)]),
        ("10 white / 6 blue", [("white", 10), ("blue", 6)]),
    ],
)  # fmt: skip
def test_stripes_are_taken_as_they_are_said(typed: str, runs: list[tuple[str, int]]) -> None:
    """Number first or colour first, with or without commas, borders around a middle."""
    made = make(answers(ends="16", colours=typed))
    assert made.faults == {}
    assert made.dressing is not None
    colours = [end.colour for end in made.dressing.ends]
    assert [(colour, len(list(run))) for colour, run in groupby(colours)] == runs


@pytest.mark.parametrize("border", [8, 9])
def test_borders_that_leave_no_middle_are_told(border: int) -> None:
    """Nothing is cut off in silence, nor a middle left out."""
    made = make(answers(ends="16", colours=f"border {border} white, middle blue"))
    assert "borders that leave some of the 16 ends for the middle" in made.faults["colours"]


def test_stripes_are_written_once_with_how_often_they_come() -> None:
    """A border, the stripes, what is over of them, and the border: 4 tables in place of 34."""
    made = make(answers(ends="267", colours="border 20 white, middle 4 blue, 10 red"))
    assert tomllib.loads(made.text)["colours"] == [
        {"colour": "white", "ends": 20},
        {"parts": [{"colour": "blue", "ends": 4}, {"colour": "red", "ends": 10}], "times": 16},
        {"colour": "blue", "ends": 3},
        {"colour": "white", "ends": 20},
    ]


@pytest.mark.parametrize(
    ("units", "typed", "told"),
    [
        ("inch", "24 inches", {"size_by": "width", "width": "24"}),
        ("inch", "24 in wide", {"size_by": "width", "width": "24"}),
        ("inch", "two feet", {"size_by": "width", "width": "24"}),
        ("inch", "12.5", {"size_by": "width", "width": "12.5"}),
        ("metric", "60 cm", {"size_by": "width", "width": "60"}),
        ("inch", "two hundred ends", {"size_by": "ends", "ends": "200"}),
        ("inch", "the width", {"size_by": "width"}),
    ],
)
def test_the_size_may_be_given_at_once(units: str, typed: str, told: dict[str, str]) -> None:
    """A number with a unit says which of the two it is; the next question is the next left."""
    interview = talk("Scarf", units, "4", "point", typed)
    assert interview.lines == []
    given = {key: interview.answers.get(key) for key in ("size_by", "ends", "width")}
    assert {key: answer for key, answer in given.items() if answer} == told


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("200", 'Expected ends or width, not "200". Say 200 ends, or 200 inches.'),
        ("60 cm", "Expected a width in inches, as this plan measures"),
        ("some", "Expected ends or width"),
    ],
)
def test_a_size_that_may_be_either_is_asked_again(typed: str, told: str) -> None:
    """What is unclear is never guessed, and a wrong unit is told as one."""
    interview = talk("Scarf", "inch", "4", "point", typed)
    assert interview.lines[0].startswith(told)
    assert interview.question is BY_KEY["size_by"]


@pytest.mark.parametrize(
    ("kind", "shed"),
    [("countermarch", None), ("counterbalance", "sinking"), ("jack", "rising")],
)
def test_which_way_ties_move_shafts_follows_from_the_loom(kind: str, shed: str | None) -> None:
    """A countermarch is not asked, since its ties move every shaft; the tie-up tells what rises."""
    given = answers(kind=kind, tie_up="1-2, 3-4")
    assert given.get("shed") == shed
    assert tomllib.loads(make(given).text)["tie_up"]["shed"] == (shed or "rising")


@pytest.mark.parametrize("typed", [":stop", " : Stop ", "quit", "q"])
def test_stop_is_heard_as_it_is_typed_elsewhere(typed: str) -> None:
    """In a walk a colon begins a whole line of words, and q stops it."""
    assert talk("Scarf", typed).has_left


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("60 each", [60] * 4),
        ("60 on each shaft", [60] * 4),
        ("60 heddles each", [60] * 4),
        ("60", [60] * 4),
        ("10, 20, 30, 40", [10, 20, 30, 40]),
        ("I don't know", None),
        ("not counted", None),
        ("not sure", None),
        ("sixty each", [60] * 4),
    ],
)
def test_heddles_are_taken_as_they_are_said(typed: str, expected: list[int] | None) -> None:
    """One number for all, one for each, or none known."""
    assert BY_KEY["heddles"].read(typed, answers()) == expected


@pytest.mark.parametrize("typed", ["point", "a point draw", "point twill on 4 shafts", "Point 4"])
def test_a_threading_is_known_among_other_words(typed: str) -> None:
    """What says nothing more of it is passed over."""
    assert threaded(threading=typed, ends="6") == (1, 2, 3, 4, 3, 2)


@pytest.mark.parametrize(
    ("shafts", "typed", "ends"),
    [
        ("2", "straight", (1, 2, 1, 2)),
        ("7", "straight draw", (1, 2, 3, 4)),
        ("4", "1-2-4-3 repeated", (1, 2, 4, 3)),
        ("8", "8 shaft point", (1, 2, 3, 4)),
    ],
)
def test_a_threading_is_taken_as_it_is_said(shafts: str, typed: str, ends: tuple[int, ...]) -> None:
    """A straight draw is one on any number of shafts, and every threading is repeated."""
    assert threaded(shafts=shafts, threading=typed, ends="4") == ends


@pytest.mark.parametrize("shafts", ["2", "4", "7", "40"])
def test_a_threading_that_is_offered_can_be_answered(shafts: str) -> None:
    """A weave is no threading; what is offered instead is one for the loom."""
    given = {**answers(), "shafts": shafts}
    with pytest.raises(AnswerError, match="if that is meant") as caught:
        read_answer(BY_KEY["threading"], "2/2 twill", given)
    offered = re.search(r"Answer (.+) if that is meant", str(caught.value))
    assert offered is not None
    for each in offered[1].split(" or "):
        assert read_answer(BY_KEY["threading"], each, given) == each


def test_a_reed_that_was_too_narrow_is_not_offered_again() -> None:
    """The warp of 40 inches goes into no reed of 36, so Enter does not give that once more."""
    interview = Interview(load=str)
    while interview.question is not None and interview.question.key != "write":
        wide = {"ends": "400", "ends_per_inch": "10"}.get(interview.question.key, "")
        interview.take(wide)
        if any("wider" in line or "within the reed" in line for line in interview.lines):
            break
    assert interview.question is not None
    assert interview.question.key == "reed_width"
    assert not interview.prompt.endswith("]")
    interview.take("")
    assert interview.lines == ["Give another answer, or say back."]
    interview.take("45")
    assert interview.ready is not None


def test_every_question_has_more_to_say() -> None:
    """Help is about the question that is asked."""
    assert [question.key for question in QUESTIONS if not question.hint] == []


def test_a_contradiction_is_told_at_its_question() -> None:
    """A warp wider than the reed is told beside the reed's width, heddles beside the heddles."""
    assert set(make(answers(reed_width="2")).faults) == {"reed_width"}
    assert set(make(answers(heddles="20")).faults) == {"heddles"}
    assert "400" not in make(answers(heddles="20")).text


@pytest.mark.parametrize("typed", ["1-3, 2-4", "1+3 2+4", "1-3 2-4", "1 and 3, 2 and 4"])
def test_treadles_are_parted_by_commas_or_blanks(typed: str) -> None:
    """Two treadles, however the shafts of each are joined."""
    assert BY_KEY["tie_up"].read(typed, answers()) == ["1-3", "2-4"]


def test_a_width_in_words_makes_a_plan() -> None:
    """Its number is reckoned with wherever the ends are."""
    made = make(
        answers(size_by="width", width="two and a half inches", colours="border 2 red, rest blue")
    )
    assert made.faults == {}
    assert made.dressing is not None
    assert len(made.dressing.ends) == 28, "7 units of 4 in 30 ends"


# ---- the terminal


def talk(*lines: str) -> Interview:
    interview = Interview(load=str)
    for line in lines:
        interview.take(line)
    return interview


def test_back_returns_to_the_question_before_with_its_answer() -> None:
    """What was answered is offered again, and what follows from it is kept."""
    interview = talk("Scarf", "metric", "back", "back")
    assert interview.prompt == "What is this plan called? [Scarf]"
    interview.take("")
    assert interview.prompt.endswith("[metric]")
    assert talk("back").lines == ["This is the first question."]


def test_what_is_wrong_is_not_offered_again() -> None:
    """Too few heddles are told, and Enter then leaves them out."""
    interview = Interview(load=str)
    while interview.question is not None and interview.question.key != "heddles":
        interview.take("")
    interview.take("3 each")
    interview.take("rest")
    assert any("short" in line for line in interview.lines)
    assert interview.question is not None
    assert interview.question.key == "heddles"
    assert interview.default == "unknown"


def test_what_is_named_at_the_end_is_asked_again() -> None:
    """One answer is changed, and all others are kept."""
    interview = talk("Scarf")
    while interview.ready is None:
        interview.take("")
    interview.take("no, the colours")
    assert interview.question is not None
    assert interview.question.key == "colours"
    interview.take("white")
    interview.take("yes")
    assert interview.made is not None
    assert 'title = "Scarf"' in interview.made.text
    assert 'colour = "white"' in interview.made.text


@pytest.mark.parametrize(("units", "more"), [("inch", "two beams"), ("metric", "sections")])
def test_each_answer_is_changed_by_the_name_it_is_read_back_under(units: str, more: str) -> None:
    """A weaver changes the sett, the reed or the treadling; the keys are only the program's."""
    given = {"units": units, "tie_up": "1-2, 3-4", "finished": "40", "more": more}
    interview = Interview(load=str)
    for _ in QUESTIONS:
        if interview.question is not None and interview.ready is None:
            interview.take(given.get(interview.question.key, ""))
    names = [line.partition(":")[0].lower() for line in interview.lines[1:]]
    assert {"sett", "reed", "reed width", "treadling", "length", "loom"} < set(names)
    assert len(names) == len(set(names))
    for name in names:
        interview.take(f"the {name}")
        assert interview.question is not None
        assert interview.question.name == name
        interview.take("")


def test_a_stripe_that_is_cut_off_is_told_in_the_order() -> None:
    """20 of 101 ends are border, and the 61 between them are six stripes of ten and one end."""
    made = make(answers(ends="101", colours="border 20 white, middle 10 blue, 10 red"))
    assert made.dressing is not None
    order = "20 white, 3 times (10 blue, 10 red), 1 blue, 20 white"
    assert f"Order of the stripes, from end 1: {order}." in list(report(made.dressing))


def test_a_question_mark_asks_for_help_too() -> None:
    """As many people would type it."""
    assert talk("Scarf", "?").lines == talk("Scarf", "help").lines


def test_what_to_change_may_be_named_loosely() -> None:
    """One colour for the colours; what is no answer's name is asked for, not refused."""
    interview = talk("Scarf")
    while interview.ready is None:
        interview.take("")
    interview.take("change the paint")
    assert interview.lines == ["Which answer is to change? Say its name, such as sett or colours."]
    interview.take("the colour")
    assert interview.question is BY_KEY["colours"]


def test_changing_the_units_asks_again_what_was_measured_in_them() -> None:
    """A width of 36 inches does not become one of 36 centimetres."""
    interview = talk("Scarf", "inch", *[""] * 6)
    assert "reed_width" not in interview.answers
    interview.take("40")
    assert interview.answers["reed_width"] == "40"
    while interview.question is None or interview.question.key != "units":
        interview.take("back")
    interview.take("metric")
    assert "reed_width" not in interview.answers


@pytest.mark.parametrize(
    ("key", "after"), [("tie_up", "finished"), ("finished", "more")], ids=["tie-up", "length"]
)
def test_no_is_taken_for_none(key: str, after: str) -> None:
    """A weaver who says that there is none is not asked more about it."""
    interview = Interview(load=str)
    while interview.question is not None and interview.question.key != key:
        interview.take("")
    interview.take("no")
    assert interview.question is not None
    assert (interview.answers[key], interview.question.key) == ("none", after)


def test_an_error_asks_the_same_question_again() -> None:
    """The line is told, and the question stands."""
    interview = talk("Scarf", "feet")
    assert interview.lines == [
        'Expected inch or metric, not "feet". Answer with one of these words.'
    ]
    assert interview.question is not None
    assert interview.question.key == "units"


def test_a_contradiction_reopens_its_question_alone() -> None:
    """At the end only what does not fit is asked again; everything else is kept."""
    interview = talk("Scarf", "", "", "", "", "", "", "", "2", "rest")
    assert interview.question is not None
    assert interview.question.key == "reed_width"
    assert "Use a reed of" in interview.lines[0]
    interview.take("24")
    assert interview.ready is not None
    interview.take("")
    assert interview.made is not None
    assert interview.made.dressing is not None


def test_the_plan_is_read_back_before_it_is_written() -> None:
    """Every answer is told again; no asks which is to change, and yes ends it."""
    interview = talk("Scarf", *[""] * 14)
    while interview.question is not None and interview.question.key != "finished":
        interview.take("")
    interview.take("none")
    assert interview.question is not None
    assert interview.question.key == "more"
    interview.take("nothing more")
    assert interview.lines[0] == READ_BACK
    assert interview.lines[1:3] == ["Title: Scarf", "Units: inch"]
    assert "Ends: 100" in interview.lines
    interview.take("help")
    assert interview.lines[0].endswith("Back takes you to the last question.")
    interview.take("no")
    assert interview.lines == ["Which answer is to change? Say its name, such as sett or colours."]
    interview.take("yes")
    assert interview.made is not None


@pytest.mark.parametrize(
    ("typed", "table", "wanted"),
    [
        (
            {"more": "crammed", "ends": "40", "regions": "28 at 1, 5 dents empty, then 12 at 4-2"},
            "reed",
            {"parts": [{"ends": 28, "sley": "1"}, {"empty": 5}, {"ends": 12, "sley": "4-2"}]},
        ),
        (
            {"more": "regions", "ends": "40", "regions": "28 ends 1 in each dent and 12 ends"},
            "reed",
            {"parts": [{"ends": 28, "sley": "1"}, {"ends": 12}]},
        ),
        (
            {
                "more": "crammed and spaced",
                "ends": "96",
                "regions": "twelve crammed 3, 12 ends 1 per dent, skip 5 dents over and over",
            },
            "reed",
            {
                "parts": [
                    {
                        "parts": [
                            {"ends": 12, "sley": "3"},
                            {"ends": 12, "sley": "1"},
                            {"empty": 5},
                        ],
                        "times": 3,
                    },
                    {"ends": 12, "sley": "3"},
                    {"ends": 12, "sley": "1"},
                ]
            },
        ),
        (
            {
                "more": "regions",
                "ends": "40",
                "regions": "6 at 3, 2 empty, repeated 4 times then 16 at 1",
            },
            "reed",
            {
                "parts": [
                    {"parts": [{"ends": 6, "sley": "3"}, {"empty": 2}], "times": 4},
                    {"ends": 16, "sley": "1"},
                ]
            },
        ),
        (
            {
                "more": "two warps",
                "finished": "30",
                "second_beam": "shafts 3 and 4",
                "second_take_up": "20",
                "second_tension": "slack",
            },
            "second_beam",
            {"shafts": "3-4", "take_up": "20 %", "tension": "slacker"},
        ),
        (
            {
                "more": "another beam",
                "colours": "10 white, 10 blue",
                "second_beam": "all the blue ends",
            },
            "second_beam",
            {"colour": "blue", "tension": "alike"},
        ),
        (
            {"more": "2 beams", "second_beam": "every third end"},
            "second_beam",
            {"order": "1-1-2"},
        ),
        (
            {"more": "second beam", "second_beam": "ends on shafts 3 & 4"},
            "second_beam",
            {"shafts": "3-4"},
        ),
        (
            {"more": "two beams", "second_beam": "every other end"},
            "second_beam",
            {"order": "1-2", "tension": "alike"},
        ),
        (
            {
                "more": "sectional",
                "finished": "60",
                "around": "a yard",
                "section_width": "2 in",
                "sections": "20",
            },
            "beam",
            {"around": 36, "section_width": 2, "sections": 20},
        ),
        ({"more": "the old warp", "old_ends": "100 ends"}, "old_warp", {"ends": 100}),
        ({"more": "from the centre"}, "loom", {"thread_from": "centre"}),
        (
            {
                "more": "one colour first",
                "passes": "apart",
                "colours": "20 white, 5 blue",
                "first_colour": "blue",
            },
            "loom",
            {"thread_first": "blue"},
        ),
    ],
)
def test_one_question_leads_to_every_other_way(
    typed: dict[str, str], table: str, wanted: dict[str, object]
) -> None:
    """Each is answered as a person would, and comes out as the plan file has it."""
    made = make(answers(**typed))
    assert made.faults == {}
    found = tomllib.loads(made.text)[table]
    assert {key: found.get(key) for key in wanted} == wanted
    more = {question.key for question in MORE_WAYS[1:]}
    assert more.isdisjoint(answers(**{**typed, "more": "no"}))


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"more": "sections"}, "Expected the length of the pieces for sections"),
        (
            {"more": "two beams", "method": "front-to-back"},
            "Expected a loom dressed from back to front for two-beams",
        ),
        ({"more": "colour first"}, "Expected separate passes for one-colour-first"),
        (
            {"more": "regions, from the middle"},
            'Expected separate passes for regions with centre, not "together". Say back to passes',
        ),
        (
            {"more": "two beams and sectional", "finished": "30"},
            "Expected two-beams or sections, since a beam in sections holds one warp",
        ),
        (
            {"more": "the old warp and the middle"},
            "Expected old-warp or centre, since knotted ends are not threaded",
        ),
        ({"more": "no and regions"}, "Expected no, regions, two-beams"),
        ({"more": "two beams and frills"}, "Expected no, regions, two-beams"),
    ],
)
def test_a_way_that_the_answers_before_rule_out_is_told(
    typed: dict[str, str], expected: str
) -> None:
    """At its own question, with what to change; also where the answer before is changed later."""
    _, faults = read_all(typed)
    assert faults["more"].startswith(expected)
    given = {**answers(), **typed, "more": BY_KEY["more"].choices[2].answer}
    given |= {"second_beam": "1-2", "second_tension": "alike", "method": "front-to-back"}
    assert list(make(given).faults) == ["more"]


def test_several_ways_are_answered_at_once_and_read_back() -> None:
    """Each asks its own, and what was understood of the regions is told before it is written."""
    interview = talk("Slack", *[""] * 4, "96")
    while interview.question is not None and interview.question.key != "more":
        interview.take("30" if interview.question.key == "finished" else "")
    assert interview.prompt.endswith("Name all that there are. [no]")
    interview.take("regions, and threaded from the centre, with two beams")
    assert interview.lines[0].startswith("Expected separate passes for regions with centre")
    for line in ("back to passes", "separate", "two beams and regions plus the centre"):
        interview.take(line)
    assert interview.answers["more"] == "regions, two-beams, centre"
    for line in ("12 at 3 and 12 at 1, repeated", "every other end", "15", "slacker"):
        interview.take(line)
    told = "4 times (12 ends 3 in each dent, 12 ends 1 in each dent)"
    assert f"Regions: {told}" in interview.lines
    interview.take("yes")
    assert interview.made is not None
    assert interview.made.dressing is not None
    assert len(interview.made.dressing.warps) == 2


@pytest.mark.parametrize(
    "typed",
    ["", "a few", "0 at 2", "12 at many", "4 full", "crammed 3 and spaced 1", "12 at 3 2 times"],
)
def test_regions_that_do_not_fit_are_told(typed: str) -> None:
    """With how to write them; without an answer all ends come to the sett."""
    if not typed:
        assert read_answer(BY_KEY["regions"], typed, answers()) == "100"
        return
    with pytest.raises(AnswerError, match="Write it as in 28 at 1, 12 at 4, 5 empty"):
        read_answer(BY_KEY["regions"], typed, answers())


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("12 at 3, 12 at 1, repeated", 'not "4 times 24 and 4 over". Say how often'),
        ("repeated", "Expected regions before how often they are repeated"),
        ("60 at 1, 60 at 2, repeated", 'not "120"'),
    ],
)
def test_regions_that_do_not_come_out_even_are_asked_about(typed: str, expected: str) -> None:
    """What the last ends are is never guessed; without a number of ends, how often is asked."""
    with pytest.raises(AnswerError) as caught:
        read_answer(BY_KEY["regions"], typed, answers())
    assert expected in str(caught.value)
    with pytest.raises(AnswerError, match="how often they are repeated"):
        read_answer(BY_KEY["regions"], typed, {})


def test_a_draft_is_taken_for_the_threading() -> None:
    """Of what it holds nothing is asked; the loom must have its shafts."""
    wif = (PLANS / "lattice-scarf.wif").read_text(encoding="utf-8")
    interview = Interview(load=lambda _name: wif)
    for line in ("Scarf", "", "4", "lattice.wif"):
        interview.take(line)
    assert "a draft for 4 shafts" in interview.lines[0]
    for line in ("back", "8", "lattice.wif"):
        interview.take(line)
    assert interview.question is not None
    assert interview.question.key == "ends_per_inch"
    interview.take("rest")
    assert interview.made is not None
    assert interview.made.dressing is not None
    assert len(interview.made.dressing.ends) == 61
    assert 'draft = "lattice.wif"' in interview.made.text


def test_a_form_takes_no_draft(tmp_path: Path) -> None:
    """It cannot read a file of the weaver's, and says what can."""
    page, is_written = filled({"threading": "towels.wif"}, tmp_path)
    assert not is_written
    assert "a form cannot read a file" in page


@given(st.lists(st.sampled_from(["", "back", "help", "rest", "x", "4", "metric", "width", "1-2"])))
def test_an_interview_takes_any_lines(lines: list[str]) -> None:
    """Whatever is said in whatever order, there is a next question or a sound plan."""
    interview = talk(*lines)
    if interview.question is None:
        assert interview.made is not None
        assert interview.made.faults == {}
    else:
        assert interview.prompt


def test_a_plan_is_made_by_piped_lines_and_walked(tmp_path: Path) -> None:
    """`companion new` asks, writes, and what it wrote is a plan that `check` and `thread` take."""
    path = tmp_path / "scarf.toml"
    lines = ("Blue scarf", "feet", "metric", "back", "", "help", "8", "point", "rest")
    made = run(tmp_path, "new", path, lines=lines)
    assert (made.returncode, made.stderr) == (0, "")
    assert 'Expected inch or metric, not "feet"' in made.stdout
    assert made.stdout.index("Threading: point\n") < made.stdout.index("Wrote ")
    assert made.stdout.splitlines()[-1] == f"Dress the loom with it: companion thread {path}"
    assert run(tmp_path, "check", path).stdout.startswith("Blue scarf\n")
    walked = run(tmp_path, "thread", path, "--text", lines=["done"])
    assert "End 2: shaft 2" in walked.stdout


@pytest.mark.parametrize("lines", [[], ["Scarf"], ["Scarf", "stop"]])
def test_answers_that_end_early_write_nothing(tmp_path: Path, lines: list[str]) -> None:
    """Neither the end of a pipe nor leaving makes half a plan."""
    ended = run(tmp_path, "new", tmp_path / "scarf.toml", lines=lines)
    assert ended.returncode == (0 if lines[-1:] == ["stop"] else 2)
    assert "othing was written" in ended.stdout + ended.stderr
    assert not (tmp_path / "scarf.toml").exists()


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """A name that is taken, is no plan's or is in no folder is told before the first question."""
    path = tmp_path / "scarf.toml"
    path.write_text("mine")
    for name in (path, tmp_path / "scarf.txt", tmp_path / "nowhere" / "scarf.toml"):
        ended = run(tmp_path, "new", name, lines=["rest"])
        assert (ended.returncode, ended.stdout, ended.stderr.count("\n")) == (2, "", 1)
    assert path.read_text() == "mine"


# ---- the form


def test_the_form_writes_beside_what_is_there(tmp_path: Path) -> None:
    """A title used twice makes two files, and no title leads out of the folder."""
    for _ in range(2):
        assert filled({"title": "../../Scarf"}, tmp_path)[1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["scarf-2.toml", "scarf.toml"]


def test_the_form_keeps_what_was_typed(tmp_path: Path) -> None:
    """With faults nothing is written, and every answer stands in its field as plain text."""
    typed = {"title": '<script>"&', "ends": "<b>"}
    page, is_written = filled(typed, tmp_path)
    assert not is_written
    assert not list(tmp_path.iterdir())
    assert 'value="&lt;script&gt;&quot;&amp;"' in page
    assert 'value="&lt;b&gt;"' in page
    assert "<b>" not in page


def test_a_folder_that_takes_no_file_is_told(tmp_path: Path) -> None:
    """Where the plan cannot be written the form says so and keeps the answers."""
    page, is_written = filled({"title": "Scarf"}, tmp_path / "gone")
    assert not is_written
    assert "is not a folder" in page
