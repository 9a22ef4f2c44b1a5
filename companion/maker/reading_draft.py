"""Readers of what is drafted: the threading, the heddles it takes, the tie-up and the treadling."""

import re
from collections.abc import Callable
from typing import Final

from companion.base.numerals import plain
from companion.base.text import listed
from companion.maker.question import AnswerError, Answers, unfit
from companion.maker.reading import UNKNOWN, is_none, plain_words, spelled
from companion.plan.threading.named import (
    NamedThreading,
    find_named,
    named_threadings,
    nearest_names,
)
from companion.plan.threading.notation import NotationError, read_numbers, read_picks
from companion.plan.values import MAX_SHAFTS

WIF: Final = ".wif"
_EACH: Final = frozenset(
    {"each", "on each", "apiece", "per shaft", "on each shaft", "on every shaft"}
)
_BESIDE: Final = frozenset({"a", "the", "draw", "threading", "twill", "on", "shaft", "shafts"})
"""Words that may stand around a threading's name and say nothing more of it."""

_WEAVES: Final = frozenset({"plain", "tabby", "twill"})
"""Names of weaves, which more than one threading gives."""


def threading(answer: str, answers: Answers) -> dict[str, str]:
    """Read the name of a threading, its shafts, or a WIF file's name, as a part of the plan."""
    if answer.lower().endswith(WIF):
        return {"draft": answer}
    shafts = int(answers["shafts"])
    named = _named(answer, shafts)
    if plain_words(answer).removesuffix(" draw") == "straight" and named is None:
        return {"ends": f"1 to {shafts}"}
    if named is not None:
        if max(named.shafts) > shafts:
            mend = "Name another, or go back and change the number of shafts"
            raise unfit(f"a threading for {shafts} shafts", answer, mend)
        return {"named": named.key}
    answer = re.sub(r"[\s,;]+(?:repeated|over and over)$", "", answer, flags=re.IGNORECASE)
    words = set(re.findall(r"[^\W\d_]+", plain(answer)))
    if words - {"to"} or not re.search(r"\d", answer):
        both = (f"straight {shafts}", f"point {shafts}")
        usual = tuple(filter(find_named, both)) or (f"1 to {shafts}",)
        close = () if _WEAVES.intersection(plain_words(answer).split()) else nearest_names(answer)
        fits = tuple(key for key in close if max(named_threadings()[key].shafts) <= shafts)
        near = listed(fits or usual, "or")
        mend = f"Answer {near} if that is meant, or shafts in order such as 1-2-3-4"
        raise unfit("the name of a threading or shafts in order", answer, mend)
    _check_one_way(answer)
    _check(read_numbers, answer, shafts)
    return {"ends": answer}


def _named(answer: str, shafts: int) -> NamedThreading | None:
    """Return the threading that is named, with or without its number of shafts and words around."""
    words = plain_words(answer).split()
    kept = sorted((word for word in words if word not in _BESIDE), key=str.isdigit)
    bare = " ".join(kept)  # its number last: "8 shaft point"
    forms = (answer, f"{answer} {shafts}", bare, f"{bare} {shafts}")
    return next((found for form in forms if form and (found := find_named(form))), None)


def heddles(answer: str, answers: Answers) -> list[int] | None:
    """Read the heddles on each shaft: one number for all, or one for each; None where not known."""
    answer = spelled(answer)
    said = plain_words(answer)
    if said in UNKNOWN or is_none(answer):
        return None
    shafts = int(answers["shafts"])
    found = re.fullmatch(r"(?P<one>[0-9]{1,6}) (?P<each>[a-z ]+)", said)
    if found and found["each"].removesuffix(" heddles").removeprefix("heddles ") in _EACH:
        return [int(found["one"])] * shafts
    words = re.split(r"[\s,;-]+", answer.strip())
    is_whole = all(word.isascii() and word.isdigit() and len(word) <= 6 for word in words)  # noqa: PLR2004 - a guard against slips
    if not is_whole or len(words) not in {1, shafts}:
        expected = f"one number of heddles for every shaft, or {shafts} numbers"
        raise unfit(expected, answer, "Write 60 each, or 100 100 50 50, or unknown")
    return [int(word) for word in words] * (shafts if len(words) == 1 else 1)


def treadles(answer: str, answers: Answers) -> list[str]:
    """Read the shafts of each treadle, "1-2, 2-3, 3-4, 1-4"."""
    tied = [part.strip().replace("+", "-") for part in _by_treadle(answer)]
    mend = "Write the shafts of each treadle, treadles apart by commas, as in 1-2, 2-3"
    for part in tied:
        _check(read_numbers, part, int(answers["shafts"]), mend)
    if len(tied) > MAX_SHAFTS:
        raise unfit(f"at most {MAX_SHAFTS} treadles", answer, "Write fewer")
    return tied


def lifts(answer: str, answers: Answers) -> list[dict[str, str]]:
    """Read the shafts raised in each pick."""
    mend = "Write the shafts of each pick, as in 1+3, 2+4"
    if re.search(r"[,;]|-\d+\s+\d+-", answer) and re.search(r"\d\s*[\s-]\s*\d", answer):
        raise unfit("plus signs between shafts that are raised together", answer, mend)
    _check(read_picks, answer, int(answers["shafts"]), mend)
    return [{"shafts": answer}]


def _by_treadle(answer: str) -> list[str]:
    """Return the parts for each treadle: parted by commas, or "1-3 2-4" by blanks."""
    joined = re.sub(r"(?<=\d)\s*(?:and|&|\+|-)\s*(?=\d)", "-", answer)
    words = joined.split()
    if not re.search(r"[,;]", joined) and len(words) > 1 and all("-" in word for word in words):
        return words
    return re.split(r"[,;]", joined)


def picks(answer: str, answers: Answers) -> list[dict[str, str]]:
    """Read the treadles in order."""
    _check_one_way(answer)
    _check(read_picks, answer, len(treadles(answers["tie_up"], answers)))
    return [{"picks": answer}]


def _check_one_way(answer: str) -> None:
    """Raise AnswerError for "1-4", by which many would mean 1 to 4."""
    ends = re.fullmatch(r"\s*(\d+)\s*[-\u2013]\s*(\d+)\s*", answer)
    if ends and abs(int(ends[1]) - int(ends[2])) > 1:
        mend = f"Say {ends[1]} to {ends[2]}, or {ends[1]}, {ends[2]} for those two alone"
        raise unfit("numbers in order", answer, mend)


def _check(read: Callable[..., object], written: str, most: int, mend: str = "") -> None:
    """Raise AnswerError for what is not in the notation, with its own mend or another."""
    try:
        read(written, most=most)
    except NotationError as error:
        raise AnswerError(error.fault, mend or error.mend) from None
