"""Whole numbers as words, and words as numbers, in each language of the command table.

The forms are those of everyday counting; Korean counts in two series, of which the native one
ends at 99.
"""

import unicodedata
from collections.abc import Callable
from functools import cache
from typing import Final

LARGEST = 999
"""The largest number that is understood as words; digits go further."""

_TEN: Final = 10
_HUNDRED: Final = 100
_THOUSAND: Final = 1000
_MOST_WORDS: Final = 5
"""The most words that a number up to the largest takes."""
_MOST_DIGITS: Final = 7


def _split(words: str) -> tuple[str, ...]:
    return tuple(words.split())


_EN_ONES: Final = _split(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
)
_EN_TENS: Final = _split("- - twenty thirty forty fifty sixty seventy eighty ninety")
_DE_ONES: Final = _split(
    "null eins zwei drei vier fünf sechs sieben acht neun zehn elf zwölf dreizehn vierzehn "
    "fünfzehn sechzehn siebzehn achtzehn neunzehn"
)
_DE_ALSO: Final = {2: "zwo"}
_DE_TENS: Final = _split("- - zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig")
_ES_ONES: Final = _split(
    "cero uno dos tres cuatro cinco seis siete ocho nueve diez once doce trece catorce quince "
    "dieciséis diecisiete dieciocho diecinueve veinte veintiuno veintidós veintitrés "
    "veinticuatro veinticinco veintiséis veintisiete veintiocho veintinueve"
)
_ES_TENS: Final = _split("- - - treinta cuarenta cincuenta sesenta setenta ochenta noventa")
_ES_HUNDREDS: Final = _split(
    "- ciento doscientos trescientos cuatrocientos quinientos seiscientos setecientos "
    "ochocientos novecientos"
)
_KO_ONES: Final = _split("영 일 이 삼 사 오 육 칠 팔 구")
_KO_NATIVE_ONES: Final = _split("- 하나 둘 셋 넷 다섯 여섯 일곱 여덟 아홉")
_KO_BEFORE_COUNTER: Final = {1: "한", 2: "두", 3: "세", 4: "네"}
"""As said before a counting word."""
_KO_ALSO_YES: Final = 4
"""The number whose word before a counting word is also the word for yes, and so left out."""
_KO_NATIVE_TENS: Final = _split("- 열 스물 서른 마흔 쉰 예순 일흔 여든 아흔")


def plain(text: str) -> str:
    """Return text without case and accents, the form in which words are compared."""
    split = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(mark for mark in split if unicodedata.category(mark) != "Mn")
    return unicodedata.normalize("NFC", bare)


def english(number: int) -> str:
    """Return 0 to 999,999 in English words, without hyphens or "and"."""
    if number < len(_EN_ONES):
        return _EN_ONES[number]
    if number < _HUNDRED:
        tens, rest = divmod(number, _TEN)
        return _EN_TENS[tens] + (f" {_EN_ONES[rest]}" if rest else "")
    size, name = (_HUNDRED, "hundred") if number < _THOUSAND else (_THOUSAND, "thousand")
    head, rest = divmod(number, size)
    return f"{english(head)} {name}" + (f" {english(rest)}" if rest else "")


def _english_forms(number: int) -> tuple[str, ...]:
    hundreds, rest = divmod(number, _HUNDRED)
    if hundreds and rest:
        return english(number), f"{_EN_ONES[hundreds]} hundred and {english(rest)}"
    if number == _HUNDRED:
        return english(number), "a hundred"
    return (english(number),)


def _german_forms(number: int) -> tuple[str, ...]:
    if number in _DE_ALSO:
        return _DE_ONES[number], _DE_ALSO[number]
    if number < len(_DE_ONES):
        return (_DE_ONES[number],)
    hundreds, rest = divmod(number, _HUNDRED)
    if hundreds:
        head = "hundert" if hundreds == 1 else f"{_DE_ONES[hundreds]}hundert"
        tail = _german_forms(rest)[0] if rest else ""
        return (head + tail, f"ein{head}{tail}") if hundreds == 1 else (head + tail,)
    tens, ones = divmod(number, _TEN)
    first = {0: "", 1: "einund"}.get(ones, f"{_DE_ONES[ones]}und")
    return (first + _DE_TENS[tens],)


def _spanish_forms(number: int) -> tuple[str, ...]:
    if number < len(_ES_ONES):
        return (_ES_ONES[number],)
    if number == _HUNDRED:
        return ("cien",)
    hundreds, rest = divmod(number, _HUNDRED)
    if hundreds:
        tail = f" {_spanish_forms(rest)[0]}" if rest else ""
        return (_ES_HUNDREDS[hundreds] + tail,)
    tens, ones = divmod(number, _TEN)
    return (_ES_TENS[tens] + (f" y {_ES_ONES[ones]}" if ones else ""),)


def _sino_korean(number: int) -> str:
    if number < _TEN:
        return _KO_ONES[number]
    size, name = (_TEN, "십") if number < _HUNDRED else (_HUNDRED, "백")
    head, rest = divmod(number, size)
    lead = "" if head == 1 else _KO_ONES[head]
    return lead + name + (_sino_korean(rest) if rest else "")


def _korean_forms(number: int) -> tuple[str, ...]:
    if number == 0:
        return "영", "공"
    if number >= _HUNDRED:
        return (_sino_korean(number),)
    tens, ones = divmod(number, _TEN)
    lead = _KO_NATIVE_TENS[tens] if tens else ""
    native = lead + (_KO_NATIVE_ONES[ones] if ones else "")
    if ones in _KO_BEFORE_COUNTER and number != _KO_ALSO_YES:
        return _sino_korean(number), native, lead + _KO_BEFORE_COUNTER[ones]
    return _sino_korean(number), native


_FORMS: Final[dict[str, Callable[[int], tuple[str, ...]]]] = {
    "en": _english_forms,
    "de": _german_forms,
    "es": _spanish_forms,
    "ko": _korean_forms,
}


def number_forms(number: int, language: str) -> tuple[str, ...]:
    """Return the words for a number from 0 to 999; the usual ones first."""
    return _FORMS[language](number)


@cache
def _table(language: str) -> dict[str, int]:
    """Return every form of every number, in its plain spelling."""
    return {
        plain(form): number
        for number in range(LARGEST + 1)
        for form in number_forms(number, language)
    }


def read_numbers(text: str, language: str) -> tuple[int, ...] | None:
    """Return the numbers that plain text is made of, or None where any of it is not a number.

    The longest number is taken first, so "twenty four" is 24 and "two four" is 2, 4.
    """
    table = _table(language)
    joined = text.replace(" ", "")
    if language == "ko" and joined in table:
        return (table[joined],)
    numbers: list[int] = []
    words = text.split()
    while words:
        used, value = _first_number(words, language)
        if not used:
            return None
        numbers += value
        words = words[used:]
    return tuple(numbers) or None


def _first_number(words: list[str], language: str) -> tuple[int, list[int]]:
    """Return how many words the first number takes, and the number."""
    if words[0].isascii() and words[0].isdigit():
        return (1, [int(words[0])]) if len(words[0]) <= _MOST_DIGITS else (0, [])
    table = _table(language)
    for size in range(min(len(words), _MOST_WORDS), 0, -1):
        value = table.get(" ".join(words[:size]))
        if value is not None:
            return size, [value]
    return (1, run) if language == "ko" and (run := _unspaced(words[0])) else (0, [])


def _unspaced(word: str) -> list[int]:
    """Return the numbers run together in one Korean word, or nothing."""
    table, numbers = _table("ko"), list[int]()
    while word:
        size = next((n for n in range(len(word), 0, -1) if word[:n] in table), 0)
        if not size:
            return []
        numbers.append(table[word[:size]])
        word = word[size:]
    return numbers
