"""The one table of questions: the terminal asks it in order, the board shows it as a form."""

from contextlib import suppress
from decimal import Decimal
from typing import Final

from companion.maker import reading, reading_draft, stripes
from companion.maker.asking import always, by_units, choice, same_as
from companion.maker.more_ways import MORE_WAYS
from companion.maker.question import Answer, AnswerError, Answers, Question, When, unfit
from companion.plan.threading.named import find_named, named_threadings
from companion.plan.values import MAX_ENDS, MAX_SHAFTS

_INCH = Answer("inch", "inches", ("in", "imperial"))
_METRIC = Answer("metric", "centimetres", ("cm", "centimeters", "cms"))
_IN_INCHES: Final = When("units", ("inch",))
_IN_CM: Final = When("units", ("metric",))
_FIRST_REED: Final = "The reed"
_LOOM: Final = "The loom"
_CLOTH: Final = "The cloth"
_WARP: Final = "The warp"
_LENGTH: Final = "Length"
_TREADLES: Final = "Treadles"
_LONG: Final = When("finished", (reading.NONE, ""), is_not=True)
_LEVERS: Final = When("kind", ("table", "dobby"))
_TREADLED: Final = _LEVERS._replace(is_not=True)
_TIED: Final = When("tie_up", (reading.NONE, ""), is_not=True)
_ONE_WAY: Final = When("kind", ("countermarch",), is_not=True)
"""Asked where ties move shafts one way; those of a countermarch move every shaft, up or down."""
_DRAFTED: Final = When("threading", (), suffix=reading_draft.WIF)
_OWN: Final = _DRAFTED._replace(is_not=True)
"""Asked where the plan has a threading of its own, not a WIF file's."""
BRIEF: Final = frozenset(
    {
        "units", "ends_per_inch", "ends_per_cm", "dents_per_inch", "dents_per_10cm", "reed_width",
        "draft_first_end", "first_end", "method",
    }
)  # fmt: skip
"""The few things that a draft does not hold and that a warp cannot be dressed without."""


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


def _shed(answers: Answers) -> str:
    return "sinking" if answers.get("kind") == "counterbalance" else "rising"


QUESTIONS: Final[tuple[Question, ...]] = (
    Question(
        "title", _CLOTH, "What is this plan called?", always("A new plan"), reading.text(120),
        hint="Any name on one line; it is said when the walk begins.", places=("title",),
    ),
    choice(
        "units", _CLOTH, "Do you measure in inches or centimetres?", always("inch"),
        _INCH, _METRIC, hint="All lengths in this plan are in that unit.", places=("units",),
    ),
    Question(
        "shafts", _LOOM, "How many shafts does the loom have?", always("4"),
        reading.whole(2, MAX_SHAFTS, "shaft", "shaft loom", "shafts loom", "in all"),
        hint="All that hang in the loom, whether the threading uses them or not.",
        places=("loom.shafts",),
    ),
    Question(
        "threading", _CLOTH, "Which threading?", _straight, reading_draft.threading,
        hint="Name one in common use, such as straight, point or rosepath 4 a, or give shafts in "
        "order, such as 1-2-3-4 or 1 to 4, 3 to 2. It is repeated as often as the ends allow. "
        "The name of a WIF file takes the threading, tie-up and treadling from there.",
        offers=_offered, places=("threading",),
    ),
    choice(
        "size_by", _WARP, "Will you give the number of ends, or the width in the reed?",
        always("ends"), Answer("ends", "the number of ends", ("number",)),
        Answer("width", "the width", ("the width in the reed", "wide")),
        hint="The other is worked out from it and the sett.", when=(_OWN,), called="ends or width",
    ),
    Question(
        "ends", _WARP, "How many ends?", always("100"), reading.whole(1, MAX_ENDS, "end"),
        hint="Ends in heddles; floating selvedges are extra.",
        when=(_OWN, When("size_by", ("ends",))), places=("warp.ends",),
    ),
    Question(
        "width", _WARP, "How wide is the warp in the reed?", by_units("10", "25"),
        reading.length("a width"), hint="In the plan's units.",
        when=(_OWN, When("size_by", ("width",))), places=("warp.width",),
    ),
    Question(
        "ends_per_inch", _WARP, "How many ends in an inch?", always("12"),
        reading.length("ends in an inch", per="end"),
        hint="The sett: how close the ends lie in the reed.", when=(_IN_INCHES,),
        places=("warp.ends_per_inch",), called="sett",
    ),
    Question(
        "ends_per_cm", _WARP, "How many ends in a centimetre?", always("5"),
        reading.length("ends in a centimetre", per="end"),
        hint="The sett: how close the ends lie in the reed.", when=(_IN_CM,),
        places=("warp.ends_per_cm",), called="sett",
    ),
    Question(
        "dents_per_inch", _FIRST_REED, "How many dents to the inch does the reed have?",
        same_as("ends_per_inch", "12"), reading.length("dents in an inch", per="dent"),
        hint="The companion works out how many ends go into each dent.",
        when=(_IN_INCHES,), places=("reed.dents_per_inch",), called="reed",
    ),
    Question(
        "dents_per_10cm", _FIRST_REED, "How many dents to 10 centimetres does the reed have?",
        always("50"), reading.per_ten(reading.length("dents in 10 centimetres")),
        hint="The companion works out how many ends go into each dent.",
        when=(_IN_CM,), places=("reed.dents_per_10cm",), called="reed",
    ),
    Question(
        "reed_width", _FIRST_REED, "How wide is the whole reed?", by_units("36", "90"),
        reading.length("a width"), hint="In the plan's units.", places=("reed.width",),
    ),
    choice(
        "first_end", _LOOM, "At which edge is end 1, seen from the front of the loom?",
        always("right"), Answer("right", "the right edge"), Answer("left", "the left edge"),
        hint="Threading begins there, and all ends and dents are counted from there.",
        places=("loom.first_end",),
    ),
    choice(
        "draft_first_end", _LOOM,
        "At which edge of the warp is thread 1 of the draft, seen from the front?",
        always("right"), Answer("right", "the right edge"), Answer("left", "the left edge"),
        hint="The WIF format does not say; drafts are mostly threaded from right to left.",
        when=(_DRAFTED,), places=("draft_first_end",), called="thread 1",
    ),
    choice(
        "method", _LOOM, "Do you dress the loom from back to front or from front to back?",
        always("back-to-front"),
        Answer(
            "back-to-front", "beam first, then thread and sley",
            ("from back to front", "b2f", "btf", "beam first"),
        ),
        Answer(
            "front-to-back", "sley and thread first, then beam",
            ("from front to back", "f2b", "ftb", "reed first"),
        ),
        hint="From back to front the warp is beamed before it is threaded.",
        places=("loom.method",),
    ),
    choice(
        "passes", _LOOM, "Do you thread and sley each end together, or in separate passes?",
        _passes,
        Answer(
            "together", "heddle and dent in one step",
            ("one step", "one pass", "at once", "at the same time", "both"),
        ),
        Answer("separate", "two passes", ("separately", "in separate passes", "apart")),
        hint="Together saves a pass; apart lets you check the threading first.",
        places=("loom.passes",),
    ),
    choice(
        "kind", _LOOM, "What kind of loom is it?", always("unknown"),
        Answer("jack", "ties raise shafts"),
        Answer("counterbalance", "ties lower shafts", ("counter balance", "counterbalanced")),
        Answer("countermarch", "ties go both ways", ("counter march", "countermarche")),
        Answer("table", "a lever for each shaft", ("table loom", "levers")),
        Answer("dobby", "bars with pegs", ("pegs",)),
        Answer("unknown", "you need not say", tuple(reading.UNKNOWN)),
        hint="It decides which way a tie moves its shaft, or that nothing is tied up.",
        places=("loom.kind",), called="loom",
    ),
    Question(
        "heddles", _LOOM, "How many heddles hang on each shaft?", always("unknown"),
        reading_draft.heddles,
        hint="Such as 60 each, or a number for each shaft, shaft 1 first; unknown if you have not "
        "counted them.",
        places=("loom.heddles",),
    ),
    Question(
        "raddle", _LOOM, "How many sections to the inch does the raddle have?",
        always(reading.NONE),
        reading.or_none(reading.length("sections in an inch", per="section")),
        hint="Answer none if you have no raddle.",
        when=(_IN_INCHES, When("method", ("back-to-front",))), places=("raddle.sections_per_inch",),
    ),
    Question(
        "raddle_cm", _LOOM, "How many sections to the centimetre does the raddle have?",
        always(reading.NONE),
        reading.or_none(reading.length("sections in a centimetre", per="section")),
        hint="Answer none if you have no raddle.",
        when=(_IN_CM, When("method", ("back-to-front",))), places=("raddle.sections_per_cm",),
        called="raddle",
    ),
    Question(
        "floating", _WARP, "How many floating selvedges on each side?", always("0"),
        reading.whole(0, 8, "end", "each", "each side", "on each side", "per side", "a side"),
        hint="Ends at the edge that hang in the reed alone, not in a heddle; mostly 0 or 1.",
        places=("selvedges.floating",), called="floating selvedges",
    ),
    Question(
        "colours", _WARP, "What colours are the ends?", always(reading.NONE), stripes.colours,
        hint="One colour; or runs from end 1 on, such as 20 white, 10 blue, which are "
        "repeated; or border 20 white, middle 10 blue, 10 white; or none.",
        when=(_OWN,), places=("colours",),
    ),
    Question(
        "tie_up", _TREADLES, "Which shafts is each treadle tied to?", always(reading.NONE),
        reading.or_none(reading_draft.treadles),
        hint="The shafts of each, treadles apart by commas, such as 1-2, 2-3, 3-4, 1-4; or none. "
        "On a countermarch loom, those that each raises.",
        when=(_OWN, _TREADLED), places=("tie_up.treadles",), called="tie-up",
    ),
    choice(
        "shed", _TREADLES, "Do tied shafts rise or sink?", _shed,
        Answer("rising", "they rise", ("rise", "up", "jack")),
        Answer("sinking", "they sink", ("sink", "down", "counterbalance")),
        hint="They rise on a jack loom, and sink on a counterbalance loom.",
        when=(_OWN, _TREADLED, _TIED, _ONE_WAY), places=("tie_up.shed",),
    ),
    Question(
        "picks", _TREADLES, "In what order are the treadles pressed?", always(reading.NONE),
        reading.or_none(reading_draft.picks),
        hint="One repeat, such as 1 to 4, or 1-2-3-2; 1+3 presses two together; or none.",
        when=(_OWN, _TREADLED, _TIED), places=("treadling",), called="treadling",
    ),
    Question(
        "lifts", _TREADLES, "Which shafts are raised in each pick?", always(reading.NONE),
        reading.or_none(reading_draft.lifts),
        hint="One repeat, shafts joined by + and picks apart by commas, such as 1+3, 2+4; or none.",
        when=(_OWN, _LEVERS), places=("lifts",), called="lift plan",
    ),
    Question(
        "finished", _LENGTH, "How long is each finished piece?", always(reading.NONE),
        reading.or_none(reading.length("a length")),
        hint="In the plan's units, so that the warp length can be worked out; or none.",
        places=("length", "length.finished"), called="length",
    ),
    Question(
        "pieces", _LENGTH, "How many pieces?", always("1"),
        reading.whole(1, MAX_ENDS, "piece", is_of_any=True),
        hint="Woven one after the other on this warp.",
        when=(_LONG,), places=("length.pieces",),
    ),
    Question(
        "take_up", _LENGTH, "How much does weaving take up, in per cent?", always("10 %"),
        reading.share, hint="Measure a sample if you can; 10 % is a common first guess.",
        when=(_LONG,), places=("length.take_up",), called="take-up",
    ),
    Question(
        "shrinkage", _LENGTH, "How much does finishing shrink the cloth, in per cent?",
        always("10 %"), reading.share,
        hint="Measure a sample if you can; 10 % is a common first guess.",
        when=(_LONG,), places=("length.shrinkage",),
    ),
    Question(
        "loom_waste", _LENGTH, "How much warp cannot be woven, at both ends together?",
        by_units("30", "75"), reading.length("a length", may_be_nothing=True),
        hint="In the plan's units.", when=(_LONG,), places=("length.loom_waste",),
    ),
    *MORE_WAYS,
)  # fmt: skip
"""In the order they are asked; what one needs to know stands before it."""

BY_KEY: Final = {question.key: question for question in QUESTIONS}


def asked(answers: Answers) -> tuple[Question, ...]:
    """Return the questions that apply after these answers."""
    return tuple(question for question in QUESTIONS if question.applies(answers))


def read_answer(question: Question, typed: str, answers: Answers) -> str:
    """Return an answer in its plain form, the default where nothing was typed, or AnswerError."""
    given = " ".join(typed.split()) or question.default(answers)
    value = question.read(given, answers)
    if value is None and reading.is_none(given):
        return reading.NONE  # "no" and "nothing" too: what is asked next hangs on it
    return str(value) if isinstance(value, int | Decimal | str) else given


def read_ahead(question: Question, typed: str, answers: Answers) -> dict[str, str]:
    """Return all that one line answers: "24 inches" tells that it is the width, and how wide."""
    if question.key != "size_by":
        return {question.key: read_answer(question, typed, answers)}
    told = {}
    for key in ("ends", "width"):
        with suppress(AnswerError):
            told[key] = read_answer(BY_KEY[key], typed, answers)
    if len(told) == 1:
        return {question.key: next(iter(told)), **told}
    if told:
        unit = "cm" if answers["units"] == "metric" else "inches"
        raise unfit("ends or width", typed, f"Say {typed} ends, or {typed} {unit}")
    try:
        return {question.key: read_answer(question, typed, answers)}
    except AnswerError:
        if any(map(str.isdigit, typed)):
            read_answer(BY_KEY["width"], typed, answers)  # tells what is wrong with its unit
        raise


_NO_FILE: Final = (
    "expected a threading, since a form cannot read a file",
    "Name one, or make the plan with: companion new FILE.toml",
)


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
    if answers["threading"].lower().endswith(reading_draft.WIF):
        faults["threading"] = str(AnswerError(*_NO_FILE))
    return answers, faults
