"""The one table of questions: the terminal asks it in order, the board shows it as a form."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.maker import reading
from companion.maker.question import AnswerError, Answers, Choice, Question, When
from companion.plan.threading.named import find_named, named_threadings
from companion.plan.values import MAX_ENDS, MAX_SHAFTS

if TYPE_CHECKING:
    from collections.abc import Callable

_INCH, _METRIC = Choice("inch", "inches"), Choice("metric", "centimetres")
_IN_INCHES: Final = When("units", ("inch",))
_IN_CM: Final = When("units", ("metric",))
_FIRST_REED: Final = "The reed"
_LOOM: Final = "The loom"
_CLOTH: Final = "The cloth"
_WARP: Final = "The warp"
_LENGTH: Final = "Length"
_TREADLES: Final = "Treadles"
_LONG: Final = When("finished", (reading.NONE, ""), is_not=True)
_TIED: Final = When("tie_up", (reading.NONE, ""), is_not=True)


def _always(answer: str) -> Callable[[Answers], str]:
    return lambda _answers: answer


def _by_units(inches: str, centimetres: str) -> Callable[[Answers], str]:
    return lambda answers: centimetres if answers.get("units") == "metric" else inches


def _straight(answers: Answers) -> str:
    shafts = answers.get("shafts", "4")
    return f"straight {shafts}" if find_named(f"straight {shafts}") else f"1 to {shafts}"


def _offered(answers: Answers) -> tuple[str, ...]:
    shafts = answers.get("shafts", "")
    most = int(shafts) if shafts.isascii() and shafts.isdigit() else MAX_SHAFTS
    return tuple(
        key for key, threading in named_threadings().items() if max(threading.shafts) <= most
    )


def _passes(answers: Answers) -> str:
    return "separate" if answers.get("method") == "front-to-back" else "together"


def _same_as(key: str, otherwise: str) -> Callable[[Answers], str]:
    return lambda answers: answers.get(key) or otherwise


def _choice(
    key: str,
    section: str,
    ask: str,
    default: Callable[[Answers], str],
    *choices: Choice,
    **more: object,
) -> Question:
    return Question(
        key,
        section,
        ask,
        default,
        reading.choice(*choices),
        choices=choices,
        **more,  # type: ignore[arg-type]
    )


QUESTIONS: Final[tuple[Question, ...]] = (
    Question(
        "title", _CLOTH, "What is this plan called?", _always("A new plan"), reading.text(120),
        places=("title",),
    ),
    _choice(
        "units", _CLOTH, "Do you measure in inches or centimetres?", _always("inch"),
        _INCH, _METRIC, places=("units",),
    ),
    Question(
        "shafts", _LOOM, "How many shafts does the loom have?", _always("4"),
        reading.whole(2, MAX_SHAFTS, "shafts"), places=("loom.shafts",),
    ),
    Question(
        "threading", _CLOTH, "Which threading?", _straight, reading.threading,
        hint="Name one in common use, such as straight, point or rosepath 4 a, or give shafts in "
        "order, such as 1-2-3-4 or 1 to 4, 3 to 2. It goes in as often as the ends allow.",
        offers=_offered, places=("threading",),
    ),
    _choice(
        "size_by", _WARP, "Will you give the number of ends, or the width in the reed?",
        _always("ends"), Choice("ends", "the number of ends"), Choice("width", "the width"),
    ),
    Question(
        "ends", _WARP, "How many ends?", _always("100"), reading.whole(1, MAX_ENDS, "ends"),
        hint="Ends in heddles; floating selvedges come on top.",
        when=(When("size_by", ("ends",)),), places=("warp.ends",),
    ),
    Question(
        "width", _WARP, "How wide is the warp in the reed?", _by_units("10", "25"),
        reading.length("a width"), hint="In the plan's units.",
        when=(When("size_by", ("width",)),), places=("warp.width",),
    ),
    Question(
        "ends_per_inch", _WARP, "How many ends in an inch?", _always("12"),
        reading.length("ends in an inch"), when=(_IN_INCHES,), places=("warp.ends_per_inch",),
    ),
    Question(
        "ends_per_cm", _WARP, "How many ends in a centimetre?", _always("5"),
        reading.length("ends in a centimetre"), when=(_IN_CM,), places=("warp.ends_per_cm",),
    ),
    Question(
        "dents_per_inch", _FIRST_REED, "How many dents in an inch has the reed?",
        _same_as("ends_per_inch", "12"), reading.length("dents in an inch"),
        hint="The companion works out how many ends go into each dent.",
        when=(_IN_INCHES,), places=("reed.dents_per_inch",),
    ),
    Question(
        "dents_per_10cm", _FIRST_REED, "How many dents in 10 centimetres has the reed?",
        _always("50"), reading.length("dents in 10 centimetres"),
        hint="The companion works out how many ends go into each dent.",
        when=(_IN_CM,), places=("reed.dents_per_10cm",),
    ),
    Question(
        "reed_width", _FIRST_REED, "How wide is the whole reed?", _by_units("36", "90"),
        reading.length("a width"), hint="In the plan's units.", places=("reed.width",),
    ),
    _choice(
        "first_end", _LOOM, "At which edge is end 1, seen from the front of the loom?",
        _always("right"), Choice("right", "the right edge"), Choice("left", "the left edge"),
        places=("loom.first_end",),
    ),
    _choice(
        "method", _LOOM, "Do you dress the loom from back to front or from front to back?",
        _always("back-to-front"), Choice("back-to-front", "beam first, then thread and sley"),
        Choice("front-to-back", "sley and thread first, then beam"), places=("loom.method",),
    ),
    _choice(
        "passes", _LOOM, "Do you thread and sley each end together, or in separate passes?",
        _passes, Choice("together", "heddle and dent in one step"),
        Choice("separate", "two passes"), places=("loom.passes",),
    ),
    Question(
        "heddles", _LOOM, "How many heddles hang on each shaft?", _always("unknown"),
        reading.heddles,
        hint="One number for every shaft, or a number for each, shaft 1 first; unknown if you have "
        "not counted them.",
        places=("loom.heddles",),
    ),
    Question(
        "raddle", _LOOM, "How many sections to the inch has the raddle?", _always(reading.NONE),
        reading.or_none(reading.length("sections in an inch")),
        hint="Answer none without a raddle.",
        when=(_IN_INCHES, When("method", ("back-to-front",))), places=("raddle",),
    ),
    Question(
        "raddle_cm", _LOOM, "How many sections to the centimetre has the raddle?",
        _always(reading.NONE), reading.or_none(reading.length("sections in a centimetre")),
        hint="Answer none without a raddle.",
        when=(_IN_CM, When("method", ("back-to-front",))), places=("raddle",),
    ),
    Question(
        "floating", _WARP, "How many floating selvedges on each side?", _always("0"),
        reading.whole(0, 8, "ends"), hint="Ends that hang in the reed alone.",
        places=("selvedges",),
    ),
    Question(
        "colours", _WARP, "What colours are the ends?", _always(reading.NONE), reading.colours,
        hint="One colour; or runs from end 1 on, such as 4 white, 2 blue, which are taken over "
        "and over; or none.",
        places=("colours",),
    ),
    Question(
        "tie_up", _TREADLES, "Which shafts is each treadle tied to?", _always(reading.NONE),
        reading.treadles,
        hint="The shafts of each, treadles apart by commas, such as 1-2, 2-3, 3-4, 1-4; or none.",
        places=("tie_up",),
    ),
    _choice(
        "shed", _TREADLES, "Do tied shafts rise or sink?", _always("rising"),
        Choice("rising", "they rise"), Choice("sinking", "they sink"),
        when=(_TIED,), places=("tie_up.shed",),
    ),
    Question(
        "picks", _TREADLES, "In what order are the treadles pressed?", _always(reading.NONE),
        reading.picks,
        hint="One repeat, such as 1 to 4, or 1-2-3-2; 1+3 presses two together; or none.",
        when=(_TIED,), places=("treadling",),
    ),
    Question(
        "finished", _LENGTH, "How long is each finished piece?", _always(reading.NONE),
        reading.or_none(reading.length("a length")),
        hint="In the plan's units, to have the length of the warp worked out; or none.",
        places=("length", "length.finished"),
    ),
    Question(
        "pieces", _LENGTH, "How many pieces?", _always("1"),
        reading.whole(1, MAX_ENDS, "pieces"), when=(_LONG,), places=("length.pieces",),
    ),
    Question(
        "take_up", _LENGTH, "How many per cent does weaving take up?", _always("10 %"),
        reading.share, hint="Measure a sample; 10 % is a guess many begin with.",
        when=(_LONG,), places=("length.take_up",),
    ),
    Question(
        "shrinkage", _LENGTH, "How many per cent does finishing take?", _always("10 %"),
        reading.share, hint="Measure a sample; 10 % is a guess many begin with.",
        when=(_LONG,), places=("length.shrinkage",),
    ),
    Question(
        "loom_waste", _LENGTH, "How much warp cannot be woven, at both ends together?",
        _by_units("30", "75"), reading.length("a length", may_be_nothing=True),
        hint="In the plan's units.", when=(_LONG,), places=("length.loom_waste",),
    ),
)  # fmt: skip
"""In the order they are asked; what one needs to know stands before it."""

BY_KEY: Final = {question.key: question for question in QUESTIONS}


def asked(answers: Answers) -> tuple[Question, ...]:
    """Return the questions that apply after these answers."""
    return tuple(question for question in QUESTIONS if question.applies(answers))


def read_answer(question: Question, typed: str, answers: Answers) -> str:
    """Return an answer in its plain form, the default where nothing was typed.

    Raises:
        AnswerError: it does not fit.
    """
    given = " ".join(typed.split()) or question.default(answers)
    value = question.read(given, answers)
    return str(value) if question.choices else given


def read_all(typed: Answers) -> tuple[dict[str, str], dict[str, str]]:
    """Return all answers of a form in their plain form, and the faults by question."""
    answers: dict[str, str] = {}
    faults: dict[str, str] = {}
    for question in QUESTIONS:
        if not question.applies(answers):
            continue
        try:
            answers[question.key] = read_answer(question, typed.get(question.key, ""), answers)
        except AnswerError as error:
            faults[question.key] = str(error)
            answers[question.key] = question.default(answers)
    return answers, faults
