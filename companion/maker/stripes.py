"""Colours of the warp as a person gives them: one colour, runs, or borders around a middle."""

import re
from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

from companion.base.text import LONGEST_LABEL, is_label
from companion.maker.question import Answers, unfit
from companion.maker.reading import UNKNOWN, is_none, plain_words
from companion.maker.regions import repeated
from companion.plan.values import MAX_ENDS

_EXPECTED: Final = "a number of ends and a colour for each run"
_MEND: Final = (
    "Write one colour, or runs such as 4 white, 2 blue, or borders such as border 20 white, "
    "middle 4 blue, 4 white, or none"
)
_PARTS: Final = re.compile(
    r"\b(?P<part>borders?|edges?|selvedges?|sides?|middle|centre|center|rest)\b", re.IGNORECASE
)
_AROUND: Final = frozenset(
    {"a", "all", "an", "and", "are", "at", "both", "each", "ends", "in", "is", "of", "on", "the"}
    | {"stripe", "stripes", "with"}
)
"""Words that may stand before and after what is told of a part, and say nothing more of it."""
_NUMBER_FIRST: Final = re.compile(
    r"(?P<ends>\d{1,7})(?:\s*x)?\s+(?:ends?\s+(?:of\s+)?)?(?P<colour>\D.*)"
)
_COLOUR_FIRST: Final = re.compile(
    r"(?P<colour>\D*?[^\d\s])\s+(?:x\s*)?(?P<ends>\d{1,7})(?:\s+ends?)?"
)
_AGAIN: Final = re.compile(r"[\s,;]+(?:repeat\w*|over and over)$", re.IGNORECASE)
_SEVERAL: Final = re.compile(r"[,;&/]|\b(?:and|stripes?)\b", re.IGNORECASE)


class Stripe(NamedTuple):
    """Neighbouring ends of one colour."""

    colour: str
    ends: int


class Stripes(NamedTuple):
    """The runs from an edge inwards, and those taken over and over between the borders."""

    border: tuple[Stripe, ...]
    middle: tuple[Stripe, ...]

    def over(self, ends: int) -> Iterator[dict[str, Any]]:
        """Yield the runs of a warp of so many ends; the far border is the near one turned round."""
        edges = sum(run.ends for run in self.border)
        room = ends - 2 * edges
        if room < 1:
            raise unfit(
                f"borders that leave some of the {ends} ends for the middle",
                f"{2 * edges} ends",
                "Make the borders narrower, or the warp wider",
            )
        border = [run._asdict() for run in self.border]
        yield from (*border, *_filled(self.middle, room), *reversed(border))


def _filled(runs: Sequence[Stripe], room: int) -> Iterator[dict[str, Any]]:
    """Yield the runs as often as they go in whole, and what is over as the first of them."""
    if len(runs) == 1:
        runs = (runs[0]._replace(ends=MAX_ENDS),)
    times, over = divmod(room, sum(run.ends for run in runs))
    yield from repeated([run._asdict() for run in runs], times)
    for run in runs:
        if over > 0:
            yield run._replace(ends=min(over, run.ends))._asdict()
        over -= run.ends


def colours(answer: str, _answers: Answers) -> Stripes | str | None:
    """Read one colour, runs such as "4 white, 2 blue", or borders and a middle; "none" is None."""
    if is_none(answer) or plain_words(answer) in UNKNOWN:
        return None
    answer = _AGAIN.sub("", answer)
    if _PARTS.search(answer):
        return _bordered(answer)
    if not re.search(r"\d", answer):
        return _colour(re.sub(r"^all\s+(?=\S)", "", answer, flags=re.IGNORECASE), answer)
    return Stripes((), _runs(answer, answer))


def _bordered(answer: str) -> Stripes:
    """Read "border 20 white, middle blue", "20 white borders, blue middle", "blue, edges 8 red"."""
    told: dict[str, list[str]] = {"border": [], "middle": []}
    part = "middle"
    for piece in re.split(r"[,;]|\bwith\b", answer):
        names = {
            "border" if each["part"].lower()[0] in "bes" else "middle"
            for each in _PARTS.finditer(piece)
        }
        part = next(iter(names), part)
        if len(names) > 1 or (names and told[part]):
            raise unfit("one border and one middle", answer, _MEND)
        if said := _told(_PARTS.sub(" ", piece)):
            told[part].append(said)
    if not all(told.values()):
        raise unfit("one border and one middle", answer, _MEND)
    border, middle = (", ".join(pieces) for pieces in told.values())
    if re.search(r"\d", middle):
        return Stripes(_runs(border, answer), _runs(middle, answer))
    return Stripes(_runs(border, answer), (Stripe(_colour(middle, answer), MAX_ENDS),))


def _told(piece: str) -> str:
    words = piece.replace(":", " ").split()
    while words and words[0].lower() in _AROUND:
        del words[0]
    while words and words[-1].lower() in _AROUND:
        del words[-1]
    return " ".join(words)


def _runs(written: str, answer: str) -> tuple[Stripe, ...]:
    """Return runs that are parted by commas, "and", or only by their numbers."""
    pieces = [
        piece.strip() for piece in re.split(r"[,;/]|\b(?:and|then)\b", written) if piece.strip()
    ]
    if len(pieces) == 1 and len(re.findall(r"\d+", written)) > 1:
        pieces = [piece.strip() for piece in re.findall(r"\d+\D+", written)]
        if "".join(pieces).replace(" ", "") != written.replace(" ", ""):
            raise unfit(_EXPECTED, answer, _MEND)
    return tuple(_run(piece, answer) for piece in pieces)


def _run(piece: str, answer: str) -> Stripe:
    found = _NUMBER_FIRST.fullmatch(piece) or _COLOUR_FIRST.fullmatch(piece)
    if found is None or not 1 <= int(found["ends"]) <= MAX_ENDS:
        raise unfit(_EXPECTED, answer, _MEND)
    return Stripe(_colour(found["colour"].strip(), answer), int(found["ends"]))


def _colour(name: str, answer: str) -> str:
    if _SEVERAL.search(name):
        raise unfit(_EXPECTED, answer, _MEND)
    if not is_label(name) or not name.isprintable():
        raise unfit(f"a colour's name of 1 to {LONGEST_LABEL} characters", answer, _MEND)
    return name
