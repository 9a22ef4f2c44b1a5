"""Reading TOML text with exact numbers, and plain words for what is wrong with it."""

import re
import tomllib
from decimal import Decimal
from typing import Any

from companion.base.errors import WHOLE_FILE, Problem
from companion.base.text import printable, uncapital
from companion.base.toml_lines import tokens

MAX_DEPTH = 32
"""Tables and lists inside each other; a guard, far beyond any plan."""
_LONGEST = 100
"""Characters of the reader's own message; some quote a key of any length."""
_POSITION = r" \(at (?:line (\d+), column (\d+)|end of document)\)$"
_KEY_AND_VALUE = 'Write a key, an equals sign and a value, as in title = "Kitchen towels"'
_MENDS = (
    ("Invalid value", "Write words in double quotes, and numbers without a unit"),
    ("Expected '='", _KEY_AND_VALUE),
    ("Invalid statement", _KEY_AND_VALUE),
    ("Cannot overwrite", "Give each key once"),
    ("Cannot declare", "Give each table once; only parts repeat, as [[threading]]"),
    ("Unclosed", "Close the bracket"),
    ("Unterminated", "Close the quotation marks"),
    ("Illegal character", "Close the quotation marks on the same line"),
    ("Expected newline", "Start a new line"),
    ("Expected ']", "Close the table's name with its bracket"),
)


class TomlError(ValueError):
    """A text that is not TOML; the problem tells where."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(str(problem))


def read_toml(text: str) -> dict[str, Any]:
    """Return the tables of a TOML text, decimal numbers as `Decimal`; else TomlError."""
    if _has_long_key(text):
        raise TomlError(_TOO_DEEP)
    try:
        tables = tomllib.loads(text, parse_float=_decimal)
    except tomllib.TOMLDecodeError as error:
        raise TomlError(_syntax_problem(str(error), text)) from None
    except RecursionError:
        raise TomlError(_TOO_DEEP) from None
    except ValueError:  # an integer of thousands of digits, which Python refuses to read
        fault = "expected numbers of a few digits, and one has thousands"
        raise TomlError(Problem(WHOLE_FILE, fault, "Look for a slip in a number")) from None
    if _is_deeper(tables, MAX_DEPTH):
        raise TomlError(_TOO_DEEP)
    return tables


_TOO_DEEP = Problem(
    WHOLE_FILE,
    f"expected lists and tables inside each other at most {MAX_DEPTH} deep, and these are deeper",
    "Write smaller parts as blocks",
)


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except ArithmeticError:  # an exponent beyond what even decimals hold
        return Decimal("Infinity")


def _syntax_problem(message: str, text: str) -> Problem:
    from companion.plan.file.slips import slip_in  # noqa: PLC0415 - few plans have one

    position = re.search(_POSITION, message)
    said = message[: position.start()] if position else message
    at = (int(position[1]), int(position[2])) if position and position[1] else None
    line, column = at or (text.count("\n") + 1, 1)
    place = f"line {line}, column {column}" if at else f"line {line}"
    written = text.split("\n")[line - 1].rstrip("\r")
    is_in_list = at is not None and said.startswith("Unclosed")
    slip = slip_in(written, column - 1, is_in_list=is_in_list)
    if slip is not None:
        return Problem(place, slip.fault, slip.mend, line)
    mend = next((mend for start, mend in _MENDS if said.startswith(start)), "")
    fault = f"expected TOML, which stops here: {printable(uncapital(said), _LONGEST)}"
    return Problem(
        place, fault, mend or "Compare this line with the same line of a demo plan", line
    )


def _has_long_key(text: str) -> bool:
    """Return whether a dotted key has too many parts, for which the reader takes for ever."""
    if all(line.count(".") <= MAX_DEPTH for line in text.split("\n")):
        return False
    dots = 0
    for token in tokens(text):
        if token.kind == "mark":
            dots = dots + 1 if token.text == "." else 0
        elif token.kind == "line":
            dots = 0
        if dots > MAX_DEPTH:
            return True
    return False


def _is_deeper(value: Any, limit: int) -> bool:
    """Return whether lists and tables lie more than `limit` deep, without recursion."""
    level = [value]
    for _ in range(limit):
        level = [
            inner
            for outer in level
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, (dict, list))
        ]
    return bool(level)
