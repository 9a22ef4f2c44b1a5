"""The commands, and the one table of the words that give them in each language."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """Every command there is."""

    DONE = "done"
    BACK = "back"
    REPEAT = "repeat"
    READ_BACK = "read back"
    WHERE = "where"
    COUNT = "count"
    PAUSE = "pause"
    RESUME = "resume"
    SLOWER = "slower"
    FASTER = "faster"
    UNDO = "undo"
    MISTAKE = "mistake"
    REWIND = "rewind"
    ACCEPT = "accept"
    HELP = "help"
    STOP = "stop"
    YES = "yes"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Command:
    """A command with what it carries."""

    kind: Kind
    number: int | None = None
    """A count, a group for READ_BACK, an end for REWIND."""
    is_end: bool = False
    """For READ_BACK: `number` is an end to read from, not a group."""
    text: str = ""
    """The reason given with ACCEPT."""
