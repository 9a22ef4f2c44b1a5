"""What the journal holds: one entry for each thing that happened in a session."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum


class EntryKind(StrEnum):
    """What sort of thing happened."""

    OPEN = "open"
    """A sitting began."""
    NEXT = "next"
    """The sitting went on with the next stage."""
    PLAN = "plan"
    """Other stages, or another plan, are walked from here on; an event says which."""
    COMMAND = "command"
    """A command was accepted."""
    REFUSED = "refused"
    """Words were heard or typed that are no command here."""
    CLOSE = "close"
    """A sitting ended in good order."""


class Source(StrEnum):
    """Where a command came from."""

    LINE = "line"
    KEY = "key"
    PEDAL = "pedal"
    VOICE = "voice"
    BOARD = "board"
    PROGRAM = "program"


def utc_now() -> str:
    """Return the time now, UTC, ISO 8601 with milliseconds."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing that happened."""

    kind: EntryKind
    stage: str
    source: Source = Source.PROGRAM
    words: str = ""
    """As said, typed or pressed."""
    command: str | None = None
    """The command that the words gave, as JSON; None where they gave none."""
    events: str = "[]"
    """What the command brought about, as a JSON list of objects, each with its name as "event"."""
    state: str | None = None
    """The walk's state after it, as JSON; None where it changed nothing."""
    position: int = 0
    """Steps of the stage confirmed after it."""
    total: int = 0
    """Steps in the stage; 0 where not known."""
    is_finished: bool = False
    """Whether the stage is done after it."""
    weaver: str = ""
    """Who sat at the loom; "" takes the journal's own weaver when it is written."""
    at: str = field(default_factory=utc_now)
    """UTC, ISO 8601."""
    number: int = 0
    """1-based in the journal, given when it is written; 0 before."""


@dataclass(frozen=True, slots=True)
class StageRecord:
    """How far one stage has come, from its latest entry that holds a state."""

    name: str
    position: int
    """Steps confirmed."""
    total: int
    is_finished: bool
