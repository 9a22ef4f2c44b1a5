"""Print text to uncontracted braille, as Braille ASCII (North American Braille Computer Code).

The signs are those of "The Rules of Unified English Braille", second edition (ICEB, 2013):
letters and modifiers section 4, numbers section 6, punctuation section 7, capitals section 8. Each
number carries its own number sign: the numeric space of section 6.6 is for one number written with
gaps, and here every number stands for a thing of its own.
"""

import re
import unicodedata
from itertools import groupby
from typing import Final

NUMBER: Final = "#"
CAPITAL: Final = ","
CAPITAL_WORD: Final = ",,"
CAPITALS_END: Final = ",'"
GRADE_ONE: Final = ";"
UNKNOWN: Final = "8"
"""The question mark, for what has no sign here."""

_DIGITS: Final = dict(zip("1234567890", "ABCDEFGHIJ", strict=True))
_SIGNS: Final = {
    ".": "4", ",": "1", ";": "2", ":": "3", "!": "6", "?": "8", "'": "'", "-": "-",
    "(": '"<', ")": '">', "[": ".<", "]": ".>", "{": "_<", "}": "_>", "<": "@<", ">": "@>",
    "/": "_/", "\\": "_*", "|": "_\\", "&": "@&", "*": '"9', "@": "@A", "#": "_?", "%": ".0",
    "+": '"6', "=": '"7', "_": ".-", "~": "@9", "^": "@5", "`": ".*", "$": "@S", "£": "@L",
    "€": "@E", "°": "^J", "\u00d7": '"8', "÷": '"/', "\u2013": ",-", "—": ",-", "…": "444",
    "•": "_4", "“": "8", "”": "0", "\u2018": ",8", "\u2019": ",0", "«": ".8", "»": ".0",
    "ß": "SS", "\u0131": "I", "ø": "@*O", "æ": "A^6E", "œ": "O^6E", "ł": "@*L", "đ": "@*D",
}  # fmt: skip
_MODIFIERS: Final = {
    "\u0300": "^*", "\u0301": "^/", "\u0302": "^%", "\u0303": "^]", "\u0304": "@-", "\u0306": "@+",
    "\u0308": "^3", "\u030a": "^$", "\u030c": "^+", "\u0327": "^&",
}  # fmt: skip
"""What a mark over or under a letter puts before it."""
_TOKEN: Final = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+|\s+|.", re.DOTALL)
_LAST_OF_DIGITS: Final = "J"


def braille(text: str) -> str:
    """Return a line as Braille ASCII, its blanks kept; what has no sign is a question mark."""
    plain = re.sub("(?<=\\w)\u2019(?=\\w)", "'", unicodedata.normalize("NFC", text))
    plain = re.sub(r'"(?=\w)', "“", plain).replace('"', "”")
    cells = ""
    for token in _TOKEN.findall(plain):
        cells += _cells(token, is_after_number=bool(re.search("#[A-J14]*$", cells)))
    return cells


def _cells(token: str, *, is_after_number: bool) -> str:
    if token[0] in _DIGITS:
        return NUMBER + "".join(_DIGITS.get(sign) or _SIGNS[sign] for sign in token)
    if token.isspace():
        return " " * len(token)
    if token.isalpha():
        cells = _word(token)
        is_risky = is_after_number and "A" <= cells[0] <= _LAST_OF_DIGITS
        return GRADE_ONE + cells if is_risky else cells
    return _SIGNS.get(token, UNKNOWN)


def _word(word: str) -> str:
    cells = ""
    for is_capital, run in groupby(word, str.isupper):
        letters = [_letter(letter.lower()) for letter in run]
        if is_capital:
            cells += CAPITAL if len(letters) == 1 else CAPITAL_WORD
        elif cells.startswith(CAPITAL_WORD):
            cells += CAPITALS_END
        cells += "".join(letters)
    return cells


def _letter(letter: str) -> str:
    """Return a lower-case letter's cells, its modifier before it."""
    if "a" <= letter <= "z":
        return letter.upper()
    if letter in _SIGNS:
        return _SIGNS[letter]
    base, *marks = list(unicodedata.normalize("NFD", letter))
    if not "a" <= base <= "z" or any(mark not in _MODIFIERS for mark in marks):
        return base.upper() if "a" <= base <= "z" else UNKNOWN
    return "".join(_MODIFIERS[mark] for mark in marks) + base.upper()
