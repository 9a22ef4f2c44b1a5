"""What is wrong with a yarn's size, a share, a weave or a package as written."""

from __future__ import annotations

from companion.base.errors import CompanionError

_LONGEST_QUOTE = 40


class YarnError(CompanionError, ValueError):
    """A text about yarn that cannot be read.

    Args:
        fault: what was expected and what came, without a full stop.
        mend: what to do about it, without a full stop.
    """

    def __init__(self, fault: str, mend: str) -> None:
        self.fault = fault
        self.mend = mend
        super().__init__(f"{fault[:1].upper()}{fault[1:]}. {mend}.")


def quoted(text: str) -> str:
    """Return a text in quotes on one line, cut short where it is long."""
    short = text if len(text) <= _LONGEST_QUOTE else f"{text[: _LONGEST_QUOTE - 3]}..."
    return '"' + "".join(letter if letter.isprintable() else "?" for letter in short) + '"'
