"""Values of a plan in a few plain words, for messages that are printed and spoken."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

_LONGEST_QUOTE = 40
_HUGE = 10**12


def quoted(text: str) -> str:
    """Return text in quotes on one line, cut short where it is long."""
    return f'"{printable(text)}"'


def printable(text: str, most: int = _LONGEST_QUOTE) -> str:
    """Return text on one line of at most so many characters."""
    short = text if len(text) <= most else f"{text[: most - 3]}..."
    return "".join(letter if letter.isprintable() else "?" for letter in short)


def describe(value: Any) -> str:
    """Return a value of a TOML file: itself where it is short, else its kind."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, int):
        return str(value) if abs(value) < _HUGE else "a huge number"
    if isinstance(value, Decimal):
        return printable(str(value))
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else "a date or time"
