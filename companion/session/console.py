"""The printed side of the walk: whole lines, newest last, nothing redrawn."""

from __future__ import annotations

import os
from typing import IO, Literal

import click

from companion.base.clean import clean_text

Weight = Literal["plain", "strong"]


class Console:
    """Prints one event a line, at once.

    The line to act on is bold on a terminal; that is the only decoration, and it goes away when
    NO_COLOR is set and not empty, on TERM=dumb, or when the output is not a terminal.
    """

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream
        self._is_decorated = (
            stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
        )

    def line(self, text: str, weight: Weight = "plain") -> None:
        """Print one line, whoever named what is in it, and flush it for the screen reader."""
        text = clean_text(text)
        if weight == "strong" and self._is_decorated:
            text = click.style(text, bold=True)
        self._stream.write(text + "\n")
        self._stream.flush()
