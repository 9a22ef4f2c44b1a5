"""Everyday words to listen for and refuse, so that talk is not forced onto a command.

A recogniser that knows only commands makes a command of everything. With ordinary words beside
them it can take the sound for one of those instead, and it becomes unsure where two fit. They are
our own choice: talk over a cup of tea, fillers, and words that sound nearly like a command. None
sounds the same as a command or a number.
"""

from pathlib import Path
from typing import Final

_FOLDER: Final = Path(__file__).parent / "talk"


def decoys(language: str) -> tuple[str, ...]:
    """Return those of a language of the command table; none for another."""
    path = _FOLDER / f"{language}.txt"
    return tuple(path.read_text("utf-8").split()) if path.exists() else ()
