"""Slips that people make in TOML, known by the line where its reader stops."""

import re
from collections.abc import Callable
from typing import Final, NamedTuple

from companion.base.numerals import read_numbers
from companion.base.text import printable

_CURLY: Final = "\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2039\u203a"
"""Quotation marks that word processors put in the place of straight ones."""
_APOSTROPHES: Final = frozenset("\u2018\u2019")
"""Those that may stand inside a text in straight marks."""
_LONGEST: Final = 20
_LONGEST_LINE: Final = 500
_NAMES: Final = frozenset({"title", "name", "colour"})
"""Keys of what may be called as a number is."""
_KEY: Final = r"\s*(?P<key>[\w.-]+)\s*"


class TomlSlip(NamedTuple):
    """What a line most likely was meant to say."""

    fault: str
    """What was expected and what came, without a full stop."""
    mend: str
    """What to write instead, without a full stop."""


def slip_in(line: str, at: int, *, is_in_list: bool) -> TomlSlip | None:
    """Return the usual slip in a line that is no TOML, read up to `at` from 0; or None."""
    if len(line) > _LONGEST_LINE:
        return None
    stopped = line[at : at + 1]
    if stopped in set(_CURLY) if stopped else set(line) & set(_CURLY) - _APOSTROPHES:
        straight = re.sub(f"[{_CURLY}]", '"', line)
        return TomlSlip(
            "expected straight quotation marks, and these are curly ones",
            f"Type them plainly, as in {printable(straight.strip())}",
        )
    for shape, make in _SLIPS:
        if found := shape.fullmatch(line):
            return make(found)
    return _in_list(line, at) if is_in_list else None


def _in_list(line: str, at: int) -> TomlSlip | None:
    """Return the slip of a list or table whose parts stand side by side."""
    before, after = line[:at].rstrip(), line[at:].lstrip()
    is_part = re.match(r'["\'{\w-]', after) is not None
    if is_part and (not before or re.search(r'["\'}\]\w]$', before)):
        thing = printable(re.split(r"[\s\]}]", after, maxsplit=1)[0], _LONGEST)
        return TomlSlip(f"expected a comma before {thing}", "Part the things in a list by commas")
    return None


def _decimal_comma(found: re.Match[str]) -> TomlSlip:
    key, whole, rest = found["key"], found["whole"], found["rest"]
    mend = f"Write {key} = {whole}.{rest}, or without the comma {key} = {whole}{rest}"
    if len(rest) != 3:  # noqa: PLR2004 - digits between the commas of thousands
        mend = f"Write {key} = {whole}.{rest}"
    return TomlSlip("expected a number with a point, and this has a comma", mend)


def _spaced(found: re.Match[str]) -> TomlSlip:
    key = "_".join(found["words"].split())
    fault = f"expected one word before the equals sign, not {printable(found['words'])}"
    return TomlSlip(fault, f"Write {printable(key)} = {printable(found['value'].strip())}")


def _word(found: re.Match[str]) -> TomlSlip:
    key, word = found["key"], printable(found["word"].strip())
    numbers = None if key in _NAMES else read_numbers(word.casefold(), "en")
    if numbers and len(numbers) == 1:
        return TomlSlip(f"expected a number in digits, not {word}", f"Write {key} = {numbers[0]}")
    return TomlSlip(f"expected {word} in quotation marks", f'Write {key} = "{word}"')


def _told(fault: str, mend: str) -> Callable[[re.Match[str]], TomlSlip]:
    """Return what fills the parts of a line, by their names, into a fault and its mend."""

    def make(found: re.Match[str]) -> TomlSlip:
        parts = {name: printable(part.strip()) for name, part in found.groupdict().items()}
        return TomlSlip(fault.format_map(parts), mend.format_map(parts))

    return make


_NO_EQUALS: Final = _told("expected an equals sign after {key}", "Write {key} = {value}")
_END: Final = r"\s*(?:#.*)?"
_SLIPS: Final[tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], TomlSlip]], ...]] = tuple(
    (re.compile(shape), make)
    for shape, make in (
        (rf"{_KEY}=\s*(?P<whole>\d+),(?P<rest>\d+){_END}", _decimal_comma),
        (
            rf"{_KEY}=\s*(?P<number>\d+(?:\.\d+)?)\s*%{_END}",
            _told("expected a share in quotation marks", 'Write {key} = "{number} %"'),
        ),
        (
            rf"{_KEY}=\s*(?P<number>(?:\d+\s+)?\d+/\d+){_END}",
            _told("expected a fraction in quotation marks", 'Write {key} = "{number}"'),
        ),
        (
            rf"{_KEY}=\s*(?P<row>\d+(?:\s*[-+]\s*\d+|\s+to\s+\d+|\s*,\s*\d+)+){_END}",
            _told("expected a row of numbers in quotation marks", 'Write {key} = "{row}"'),
        ),
        (r"\s*(?P<words>[^\W\d]\w*(?:[ ]\w+)+)\s*=\s*(?P<value>.+)", _spaced),
        (
            rf"{_KEY}=\s*(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\W\d]+|\"){_END}",
            _told("expected a number alone, and {unit} comes after it", "Write {key} = {number}"),
        ),
        (rf"{_KEY}=\s*(?P<word>[^\W\d][\w -]*?){_END}", _word),
        (rf"{_KEY}:\s*(?P<value>[^\s:].*)", _NO_EQUALS),
        (rf"{_KEY}\s(?P<value>[\d\"'\[].*)", _NO_EQUALS),
        (
            rf"(?P<rest>{_KEY}=\s*(?:\d[\d.]*|true|false|\"[^\"]*\"))\s*(?P<mark>[,;]){_END}",
            _told("expected nothing after the value, and there is {mark}", "Write {rest}"),
        ),
    )
)
