"""The one question that leads to ways of dressing beside the usual one, and what each asks."""

import re
from dataclasses import replace
from typing import Final

from companion.maker import reading
from companion.maker.asking import always, by_units, choice, same_as
from companion.maker.question import Answer, Answers, Question, When, several, unfit
from companion.maker.regions import regions, regions_told
from companion.plan.values import MAX_ENDS

_WAYS: Final = "Other ways"
_ON_SHAFTS: Final = re.compile(
    r"(?:those\s+|all\s+)?(?:ends?\s+)?(?:on\s+)?shafts?\s+(?P<shafts>.+)"
)
_BY_TURNS: Final = {
    **dict.fromkeys(("every other", "every other end", "every second end", "by turns"), "1-2"),
    **dict.fromkeys(("every third", "every third end"), "1-1-2"),
    **dict.fromkeys(("every fourth", "every fourth end"), "1-1-1-2"),
}
_FROM_BACK: Final = ("method", "back-to-front", "a loom dressed from back to front")
_SEPARATE: Final = ("passes", "separate", "separate passes")
_NEEDS: Final = (
    ({"two-beams"}, _FROM_BACK),
    ({"sections"}, _FROM_BACK),
    ({"sections"}, ("finished", "", "the length of the pieces")),
    ({"one-colour-first"}, _SEPARATE),
    ({"regions", "centre"}, _SEPARATE),
)
"""What ways need of earlier answers: the question, its answer or any, and what to call it."""
_APART: Final = (
    (("two-beams", "sections"), "since a beam in sections holds one warp"),
    (("old-warp", "centre"), "since knotted ends are not threaded"),
    (("old-warp", "one-colour-first"), "since knotted ends are not threaded"),
    (("centre", "one-colour-first"), "since each is an order of threading of its own"),
)
"""Ways that do not go together, and why."""


def _fitting(question: Question) -> Question:
    """Return the question of the ways, which refuses those that the answers before it rule out."""

    def read(answer: str, answers: Answers) -> str:
        given: str = question.read(answer, answers)
        ways = set(several(given))
        for (one, other), why in _APART:
            if {one, other} <= ways:
                raise unfit(f"{one} or {other}, {why}", answer, "Leave one of them out")
        for needing, (key, wanted, called) in _NEEDS:
            before = answers.get(key, "")
            if needing <= ways and (before != wanted if wanted else before in ("", reading.NONE)):
                names = " with ".join(sorted(needing, reverse=True))
                mend = f"Say back to {key}, and change that; or leave {names} out"
                raise unfit(f"{called} for {names}", before, mend)
        return given

    return replace(question, read=read)


def _on_second(answer: str, _answers: Answers) -> dict[str, str]:
    """Read which ends lie on the second beam: by shafts, by turns, or else a colour."""
    said = " ".join(answer.lower().split())
    shafts = _ON_SHAFTS.fullmatch(said)
    if shafts:
        return {"shafts": re.sub(r"\s*(?:,|&|\band\b|\s)\s*", "-", shafts["shafts"])}
    if said in _BY_TURNS:
        return {"order": _BY_TURNS[said]}
    if re.fullmatch(r"[12](?:[-, ]+[12])+", said):
        return {"order": re.sub(r"[-, ]+", "-", said)}
    colour = re.sub(r"^(?:all\s+)?(?:the\s+)?|\s+(?:ends|ones)$", "", answer.strip())
    return {"colour": str(reading.text(60)(colour, {}))}


def _of(way: str) -> tuple[When, ...]:
    return (When("more", (way,)),)


MORE_WAYS: Final[tuple[Question, ...]] = (
    _fitting(choice(
        "more", _WAYS, "Is there more to this warp?", always("no"),
        Answer("no", "dress it as usual", ("none", "nothing", "nothing more", "that is all")),
        Answer("regions", "closer in some dents than in others",
               ("crammed", "spaced", "crammed and spaced", "empty dents")),
        Answer("two-beams", "some ends on a second beam",
               ("second beam", "another beam", "two warps", "2 beams")),
        Answer("sections", "wound straight onto a beam in sections",
               ("sectional", "a divided beam")),
        Answer("old-warp", "knotted to the old warp in the loom",
               ("knotted", "knots", "tied to the old warp", "the old warp")),
        Answer("centre", "threaded from the centre out", ("center", "middle", "from the middle")),
        Answer("one-colour-first", "all ends of one colour threaded first",
               ("colour first", "color first", "one color first")),
        takes_several=True, called="other ways",
        hint="Mostly there is not. There may be several, such as regions and two beams; each is "
        "explained in the README beside the demo plans.",
    )),
    Question(
        "regions", _WAYS, "How do the ends lie, from end 1 on?", same_as("ends", "100"), regions,
        hint="Such as 28 at 1, 12 at 4, 5 empty: 28 ends one in each dent, 12 four in each, then 5 "
        "dents left empty. A region without at comes to the sett. Add repeated, or repeated 4 "
        "times, and what comes after.",
        told=regions_told, when=_of("regions"), places=("reed.parts",),
    ),
    Question(
        "second_beam", _WAYS, "Which ends lie on the second beam?", always("1-2"), _on_second,
        hint="A colour; or shafts, such as shafts 3 and 4; or every other end.",
        when=_of("two-beams"),
        places=("second_beam.shafts", "second_beam.colour", "second_beam.order", "second_beam"),
    ),
    Question(
        "second_take_up", _WAYS, "How much does the second warp take up, in per cent?",
        same_as("take_up", "10 %"), reading.share,
        hint="A slack warp is wound longer, since it takes up more.",
        when=(*_of("two-beams"), When("finished", (reading.NONE, ""), is_not=True)),
        places=("second_beam.take_up",), called="second take-up",
    ),
    choice(
        "second_tension", _WAYS, "How is the second warp held, beside the first?", always("alike"),
        Answer("alike", "as tight"), Answer("slacker", "less tight", ("slack", "looser")),
        Answer("tighter", "more tight", ("tight",)),
        hint="It is told when the second warp is beamed and tied on.",
        when=_of("two-beams"), places=("second_beam.tension",),
    ),
    Question(
        "around", _WAYS, "How far is it once around the bare beam?", by_units("24", "60"),
        reading.length("a length"), hint="Lay a string around it. In the plan's units.",
        when=_of("sections"), places=("beam", "beam.around"), called="around the beam",
    ),
    Question(
        "section_width", _WAYS, "How wide is a section of the beam?", by_units("2", "5"),
        reading.length("a width"), hint="From one divider to the next, in the plan's units.",
        when=_of("sections"), places=("beam.section_width",),
    ),
    Question(
        "sections", _WAYS, "How many sections does the beam have?", always(reading.NONE),
        reading.or_none(reading.whole(1, MAX_ENDS, "section")),
        hint="So that the warp can be centred; or none if you have not counted them.",
        when=_of("sections"), places=("beam.sections",),
    ),
    Question(
        "old_ends", _WAYS, "How many ends does the old warp have?", same_as("ends", "100"),
        reading.whole(1, MAX_ENDS, "end"),
        hint="Those in the heddles still; the new warp must have as many.",
        when=_of("old-warp"), places=("old_warp", "old_warp.ends"),
    ),
    Question(
        "first_colour", _WAYS, "Which colour is threaded first?", always("white"), reading.text(60),
        hint="One of the warp's colours; all its ends are threaded before the others.",
        when=_of("one-colour-first"), places=("loom.thread_first",),
    ),
)  # fmt: skip
