"""Readers of answers: from what is typed to a value of the plan, or an AnswerError."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from companion.base.text import listed
from companion.maker.question import AnswerError, unfit
from companion.plan.threading.named import find_named, nearest_names
from companion.plan.threading.notation import NotationError, read_numbers, read_picks
from companion.plan.values import MAX_ENDS, MAX_SHAFTS, exact
from companion.yarn.fault import YarnError
from companion.yarn.length import read_share

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.maker.question import Answers, Choice

    Reader = Callable[[str, Answers], Any]

NONE: Final = "none"
_LONGEST_NAME: Final = 60
_RUN: Final = re.compile(r"(\d{1,7})\s+(\S.*)")


def text(most: int) -> Reader:
    """Return a reader of one printable line."""

    def read(answer: str, _answers: Answers) -> str:
        if not answer or len(answer) > most or not answer.isprintable():
            raise unfit(f"a line of 1 to {most} characters", answer, "Write it shorter")
        return answer

    return read


def choice(*choices: Choice) -> Reader:
    """Return a reader of one of a few words; a beginning that fits one alone will do."""
    words = [each.answer for each in choices]

    def read(answer: str, _answers: Answers) -> str:
        fits = [word for word in words if answer and word.startswith(answer.lower())]
        if answer.lower() in words:
            return answer.lower()
        if len(fits) != 1:
            raise unfit(listed(words, "or"), answer, "Answer with one of these words")
        return fits[0]

    return read


def whole(least: int, most: int, noun: str) -> Reader:
    """Return a reader of a whole number in a range."""

    def read(answer: str, _answers: Answers) -> int:
        digits = answer.replace(",", "").replace(" ", "")
        is_number = digits.isascii() and digits.isdigit() and len(digits) <= len(str(most))
        if not is_number or not least <= int(digits) <= most:
            expected = f"a whole number of {noun} from {least} to {most:,}"
            raise unfit(expected, answer, "Answer with digits")
        return int(digits)

    return read


def length(noun: str, *, may_be_nothing: bool = False) -> Reader:
    """Return a reader of a number such as 20, 16.5 or 16 1/2, as the plan file writes it."""

    def read(answer: str, _answers: Answers) -> int | Decimal | str:
        try:
            value = exact(answer)
        except ValueError:
            value = Fraction(-1)
        if not 0 <= value <= MAX_ENDS or (value == 0 and not may_be_nothing):
            least = "0 or more" if may_be_nothing else "above 0"
            raise unfit(f"{noun}, a number {least}", answer, "Write it as in 16.5 or 16 1/2")
        return _as_written(answer, value)

    return read


def _as_written(answer: str, value: Fraction) -> int | Decimal | str:
    if value.denominator == 1:
        return int(value)
    try:
        return Decimal(answer)
    except InvalidOperation:
        return answer


def share(answer: str, _answers: Answers) -> str:
    """Read a share; its per cent sign may be left out, since the question names it."""
    written = answer if answer.endswith("%") else f"{answer} %"
    try:
        read_share(written)
    except YarnError:
        raise unfit("a share from 0 % to 90 %", answer, "Write it as in 10 %") from None
    return written


def threading(answer: str, answers: Answers) -> dict[str, str]:
    """Read the name of a threading or its shafts, as a part of the plan."""
    shafts = int(answers["shafts"])
    named = find_named(answer) or find_named(f"{answer} {shafts}")
    if named is not None:
        if max(named.shafts) > shafts:
            mend = "Name another, or go back and change the number of shafts"
            raise unfit(f"a threading for {shafts} shafts", answer, mend)
        return {"named": named.key}
    if not re.search(r"\d", answer) or re.match(r"[^\W\d]", answer):
        near = listed(nearest_names(answer) or (f"straight {shafts}", f"point {shafts}"), "or")
        mend = f"Answer {near} if that is meant, or shafts in order such as 1-2-3-4"
        raise unfit("the name of a threading or shafts in order", answer, mend)
    try:
        read_numbers(answer, most=shafts)
    except NotationError as error:
        raise AnswerError(error.fault, error.mend) from None
    return {"ends": answer}


def heddles(answer: str, answers: Answers) -> list[int] | None:
    """Read the heddles on each shaft: one number for all, or one for each; "unknown" is None."""
    if answer.lower() in {"unknown", NONE}:
        return None
    shafts = int(answers["shafts"])
    words = re.split(r"[\s,;-]+", answer.strip())
    is_whole = all(word.isascii() and word.isdigit() and len(word) <= 6 for word in words)  # noqa: PLR2004 - a guard against slips
    if not is_whole or len(words) not in {1, shafts}:
        expected = f"one number of heddles for every shaft, or {shafts} numbers"
        raise unfit(expected, answer, "Write 100, or 100 100 50 50, or unknown")
    return [int(word) for word in words] * (shafts if len(words) == 1 else 1)


def or_none(reader: Reader) -> Reader:
    """Return a reader that takes "none" too, as None."""

    def read(answer: str, answers: Answers) -> Any:
        return None if answer.lower() == NONE else reader(answer, answers)

    return read


def treadles(answer: str, answers: Answers) -> list[str] | None:
    """Read the shafts of each treadle, "1-2, 2-3, 3-4, 1-4"; "none" is None."""
    if answer.lower() == NONE:
        return None
    tied = [part.strip() for part in re.split(r"[,;]", answer)]
    try:
        for part in tied:
            read_numbers(part, most=int(answers["shafts"]))
    except NotationError as error:
        mend = "Write the shafts of each treadle, treadles apart by commas, as in 1-2, 2-3"
        raise AnswerError(error.fault, mend) from None
    if len(tied) > MAX_SHAFTS:
        raise unfit(f"at most {MAX_SHAFTS} treadles", answer, "Write fewer")
    return tied


def picks(answer: str, answers: Answers) -> str | None:
    """Read the treadles in order; "none" is None."""
    if answer.lower() == NONE:
        return None
    try:
        read_picks(answer, most=len(treadles(answers["tie_up"], answers) or ()))
    except NotationError as error:
        raise AnswerError(error.fault, error.mend) from None
    return answer


def colours(answer: str, _answers: Answers) -> list[dict[str, Any]] | str | None:
    """Read one colour, or runs of ends such as "4 white, 2 blue"; "none" is None."""
    if answer.lower() == NONE:
        return None
    if not re.match(r"\d", answer):
        return str(text(_LONGEST_NAME)(answer, {}))
    runs = []
    for part in re.split(r"[,;]", answer):
        found = _RUN.fullmatch(part.strip())
        if found is None or not 1 <= int(found[1]) <= MAX_ENDS:
            mend = "Write one colour, or runs such as 4 white, 2 blue, or none"
            raise unfit("a number of ends and a colour for each run", answer, mend)
        runs.append({"colour": str(text(_LONGEST_NAME)(found[2], {})), "ends": int(found[1])})
    return runs
