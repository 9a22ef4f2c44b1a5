"""What the journal holds: an entry for each thing that happened, and what is walked from it on."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, NamedTuple

from companion.base.value import Value


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


class Entry(Value, kw_only=True):
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
    at: str = ""
    """UTC, ISO 8601, given when it is written; "" before."""
    number: int = 0
    """1-based in the journal, given when it is written; 0 before."""


class WalkChange(NamedTuple):
    """What is walked from an entry on, as far as it is another than before."""

    options: dict[str, Any]
    fingerprint: str = ""
    """Of the plan; "" where that stays."""
    plan_text: str = ""
    draft_text: str | None = None


NONE = WalkChange({})
_OPTIONS = ("stages", "turn", "first_dent", "declined")


def change_in(entry: Entry) -> WalkChange:
    """Return what an entry changes: what its event tells, if it does, to be walked "after" it."""
    if entry.kind is not EntryKind.PLAN:
        return NONE
    told = [each["after"] for each in json.loads(entry.events) if "after" in each]
    after = told[-1] if told else {}
    if not isinstance(after, dict):
        return NONE
    options = {name: after[name] for name in _OPTIONS if name in after}
    texts = [after.get(name, "") for name in ("fingerprint", "plan_text", "draft_text")]
    if not all(isinstance(text, str) for text in texts):
        return NONE
    return WalkChange(options, texts[0], texts[1], after.get("draft_text"))
