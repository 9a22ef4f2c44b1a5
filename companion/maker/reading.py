"""Readers of answers: from what is typed to a value of the plan, or an AnswerError.

An answer may be written as a person says it: "inches", "10 in", "twelve", "60 each", "back to
front". What can be taken in two ways is told, and asked again.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any, Final

from companion.base.numerals import plain, read_numbers
from companion.base.text import is_label, listed, mixed, plural
from companion.maker.question import Answer, Answers, unfit
from companion.plan.values import MAX_ENDS, exact
from companion.yarn.counts import YarnError
from companion.yarn.length import read_share

Reader = Callable[[str, Answers], Any]
NONE: Final = "none"
_NONE_TOO: Final = frozenset(
    {
        *(NONE, "no", "nothing", "without", "no thanks", "not any", "i have none", "there is none"),
        *("i don t have one", "i do not have one", "no raddle", "no colours", "no colors"),
    }
)
UNKNOWN: Final = frozenset(
    {
        *("unknown", "not known", "not counted", "i do not know", "dont know", "don t know"),
        *("i don t know", "no idea", "not sure", "unsure"),
    }
)
_UNITS: Final = {
    "inch": ("in", "ins", "inch", "inches", '"'),
    "metric": ("cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"),
}
_NUMBER: Final = re.compile(r"(?P<number>[\d.,/ ]*\d)\s*(?P<rest>[^\d]*)")
_TURNING: Final = frozenset({"not", "or", "neither", "either", "t"})
"""Words that turn an answer about, or leave it open; "t" is what is left of "don't"."""
_LEAD: Final = re.compile(r"^(?:it is|it's|its|an?|the)\s+(?=[\d\w])", re.IGNORECASE)
"""Words before a number that say nothing more of it."""
_BESIDE: Final = frozenset({"reed", "wide", "long", "width", "length", "in all", "each", "of warp"})
"""Words after a number and its unit that say nothing more of them."""
_TEN: Final = re.compile(
    r"\s*(?:dents?)?\s*(?:(?:/|per|in|to)\s*10\s*(?:cms?|centimet\w+)?)?\s*$", re.IGNORECASE
)
_LARGER: Final = {
    "inch": {"yd": 36, "yds": 36, "yard": 36, "yards": 36, "ft": 12, "foot": 12, "feet": 12},
    "metric": {"m": 100, "metre": 100, "metres": 100, "meter": 100, "meters": 100},
}
"""How many of a plan's own units are in a larger one: exact, so taken without asking."""


_LENGTHS: Final = frozenset().union(*_UNITS.values(), *_LARGER.values())
"""Words that are none for what is counted."""


def is_none(answer: str) -> bool:
    """Say whether an answer is that there is none."""
    return plain_words(answer) in _NONE_TOO


def or_none(reader: Reader) -> Reader:
    """Return a reader that takes "none" too, as None."""

    def read(answer: str, answers: Answers) -> Any:
        return None if is_none(answer) else reader(answer, answers)

    return read


def text(most: int) -> Reader:
    """Return a reader of one printable line."""

    def read(answer: str, _answers: Answers) -> str:
        if not is_label(answer, most) or not answer.isprintable():
            expected = f"a line of 1 to {most} characters that can be printed"
            raise unfit(expected, answer, "Write it shorter, or leave the others out")
        return answer

    return read


def plain_words(answer: str) -> str:
    """Return an answer's words in small letters, however they are joined."""
    return " ".join(re.findall(r'[^\W_]+|"', plain(answer)))


def choice(*choices: Answer) -> Reader:
    """Return a reader of one of a few; a beginning that fits one alone will do."""
    known = {
        each.answer: tuple(map(plain_words, (each.answer, each.label, *each.also)))
        for each in choices
    }

    def read(answer: str, _answers: Answers) -> str:
        said = plain_words(answer)
        fits = (
            [word for word, forms in known.items() if said in forms]
            or [word for word, forms in known.items() if _begins_one(said, forms)]
            or [word for word, forms in known.items() if _has_one(said, forms)]
        )
        if len(fits) != 1:
            raise unfit(listed(known, "or"), answer, "Answer with one of these words")
        return fits[0]

    return read


def choices(*choices: Answer) -> Reader:
    """Return a reader of one or several of a few, parted by commas or words such as "and".

    The first of them is that there is none, and stands alone.
    """
    one, none = choice(*choices), choices[0].answer

    def read(answer: str, answers: Answers) -> str:
        pieces = re.split(r"[,;&+]|\b(?:and|also|plus|with)\b", answer)
        said = dict.fromkeys(one(each.strip(), answers) for each in pieces if each.strip())
        if not said or (none in said and len(said) > 1):
            raise unfit(listed((each.answer for each in choices), "or"), answer, "Name which")
        return ", ".join(each.answer for each in choices if each.answer in said)

    return read


def _begins_one(said: str, forms: Iterable[str]) -> bool:
    return bool(said) and any(form.startswith(said) for form in forms)


def _has_one(said: str, forms: Iterable[str]) -> bool:
    """Say whether a form stands in what was said, "right" in "on the right", and no "not"."""
    words = f" {said} "
    is_plain = not _TURNING.intersection(said.split())
    return is_plain and any(f" {form} " in words for form in forms)


def spelled(answer: str) -> str:
    """Return an answer with a number in words as digits, "twelve ends" as "12 ends"."""
    if not answer[:1].isalpha():
        return answer
    words = plain(answer).split()
    for size in range(len(words), 0, -1):
        numbers = read_numbers(" ".join(words[:size]), "en")
        if numbers and len(numbers) == 1:
            return " ".join([str(numbers[0]), *words[size:]])
    return answer


def whole(least: int, most: int, noun: str, *beside: str, is_of_any: bool = False) -> Reader:
    """Return a reader of a whole number in a range, with or without its noun, in the singular.

    Args:
        least: the least that fits.
        most: the most.
        noun: what is counted.
        beside: words that may stand after the number too; without any, "in all".
        is_of_any: whether one word of any kind may stand for the noun, "towels" for pieces.
    """
    nouns = {"", plain(noun), plain(plural(noun)), *(beside or ("in all",))}

    def read(answer: str, _answers: Answers) -> int:
        if least == 0 and is_none(answer):
            return 0
        found = _NUMBER.fullmatch(spelled(_LEAD.sub("", answer)))
        digits = re.sub(r"(?<=\d)[ ,](?=\d{3}\b)", "", found["number"]) if found else ""
        is_number = digits.isascii() and digits.isdigit() and len(digits) <= len(str(most))
        rest = plain_words(found["rest"]) if found else "?"
        is_named = rest in nouns or (is_of_any and " " not in rest and rest not in _LENGTHS)
        if not is_number or not is_named or not least <= int(digits) <= most:
            expected = f"a whole number of {plural(noun)} from {least} to {most:,}"
            raise unfit(expected, answer, "Answer with digits")
        return int(digits)

    return read


def length(noun: str, *, may_be_nothing: bool = False, per: str = "") -> Reader:
    """Return a reader of a number such as 20, 16.5 or 16 1/2, as the plan file writes it.

    Args:
        noun: what it is, for messages.
        may_be_nothing: whether 0 fits.
        per: what it counts in each inch or centimetre, "end"; "" for a length.
    """

    def read(answer: str, answers: Answers) -> int | Decimal | str:
        if may_be_nothing and is_none(answer):
            return 0
        found = _NUMBER.fullmatch(spelled(_whole_and_half(_bare(answer))))
        rest = _unit(found["rest"]) if found else ""
        is_metric = answers.get("units") == "metric"
        units, other = ("metric", "inch") if is_metric else ("inch", "metric")
        own, larger = {"", *_named_units(per, units)}, {} if per else _LARGER[units]
        if rest not in own and rest in _named_units(per, other):
            name = "centimetres" if is_metric else "inches"
            raise unfit(f"{noun} in {name}, as this plan measures", answer, f"Give it in {name}")
        written = _decimal_point(found["number"].strip()) if found else answer
        try:
            number = exact(written)
            if re.fullmatch(r"\d+\s*/\s*\d+", written) and number >= 1:
                number = Fraction(-1)  # 8/2 is a yarn's count
            value = number * larger.get(rest, 1)
        except ValueError:
            value = Fraction(-1)
        fits = found is not None and (rest in own or rest in larger)
        if not fits or not 0 <= value <= MAX_ENDS or (value == 0 and not may_be_nothing):
            least = "0 or more" if may_be_nothing else "above 0"
            raise unfit(f"{noun}, a number {least}", answer, "Write it as in 16.5 or 16 1/2")
        return _as_written(written if rest in own else mixed(value), value)

    return read


def per_ten(reader: Reader) -> Reader:
    """Return a reader of dents in 10 centimetres, "50", "50 dents", "50 per 10 cm" or "50/10"."""

    def read(answer: str, answers: Answers) -> Any:
        number = _TEN.sub("", answer)
        if _LENGTHS.intersection(re.findall(r"[^\W\d_]+", plain(number))):
            expected = "dents in 10 centimetres"
            raise unfit(expected, answer, "Count them over 10 centimetres, as in 50")
        return reader(number, answers)

    return read


def _bare(answer: str) -> str:
    """Return an answer without words before its number, its signs as words.

    "a yard" is one yard, and 15/inch is 15 per inch.
    """
    answer = re.sub(r"(?<=\d)\s*['\u2032\u2019]{2}", '"', answer)
    answer = re.sub(r"(?<=\d)\s*['\u2032\u2019]", " ft", answer)
    answer = re.sub(r"\s*/\s*(?=[^\W\d])", " per ", answer)
    one = re.fullmatch(r"an?\s+([a-z]+)(\s+and an?\s+half)?", plain(answer).strip())
    if one and any(one[1] in larger for larger in _LARGER.values()):
        return f"1 {one[1]}{one[2] or ''}"
    return _LEAD.sub("", answer.strip())


def _unit(rest: str) -> str:
    """Return what stands after a number, without words that say nothing more of it."""
    words = plain_words(rest)
    while any(words == each or words.endswith(f" {each}") for each in _BESIDE):
        longest = max((each for each in _BESIDE if words.endswith(each)), key=len)
        words = words.removesuffix(longest).strip()
    return words


def _whole_and_half(answer: str) -> str:
    """Return an answer with "and a half" and signs such as 1/2 in one letter spelt out."""
    spelt = re.sub(
        r"([\u00bc-\u00be\u2150-\u215e])",
        lambda sign: f" {unicodedata.normalize('NFKC', sign[0]).replace(chr(0x2044), '/')}",
        answer,
    )
    spelt = re.sub(r"^half an?\b", "1/2", spelt.strip(), flags=re.IGNORECASE)
    # "2 yards and a half" has its half after the unit
    turned = re.sub(r"^(\S+)\s+([a-z]+)\s+and an?\s+half$", r"\1 1/2 \2", spelt)
    return re.sub(r"\s+and an?\s+half\b", " 1/2", turned)


def _decimal_point(number: str) -> str:
    """Return a number with a comma before one or two decimals as a point."""
    return re.sub(r"^(\d+),(\d{1,2})$", r"\1.\2", number)


def _named_units(per: str, units: str) -> set[str]:
    names = _UNITS[units]
    if not per:
        return set(names)
    one = {
        f"{things}{joint}{name}"
        for things in ("", f"{per} ", f"{plural(per)} ")
        for joint in ("per ", "to the ", "an ", "a ", "in an ", "in a ")
        for name in names
    }
    short = {"epi", "dpi"} if units == "inch" else {"epc"}
    return one | short | {per, plural(per)}


def _as_written(answer: str, value: Fraction) -> int | Decimal | str:
    if value.denominator == 1:
        return int(value)
    try:
        return Decimal(answer)
    except InvalidOperation:
        return answer


def share(answer: str, _answers: Answers) -> str:
    """Read a share; its per cent sign may be left out, since the question names it."""
    found = re.fullmatch(
        r"(?P<number>[\d.,/ ]*\d)\s*(?P<sign>%|per ?cent|percent)?", spelled(answer)
    )
    if found and not found["sign"] and re.match(r"0?[.,]\d", found["number"]):
        mend = "Write 10 % if a tenth is meant, or the per cent sign with it"
        raise unfit("per cent", answer, mend)
    written = f"{_decimal_point(found['number'])} %" if found else answer
    try:
        read_share(written)
    except YarnError:
        raise unfit("a share from 0 % to 90 %", answer, "Write it as in 10 %") from None
    return written
