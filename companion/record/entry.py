"""What the journal holds: an entry for each thing that happened, as a value and as a sealed row.

The seal tells where an entry was changed; what is walked from an entry on is told here too.
"""

import json
from collections.abc import Callable, Iterable
from dataclasses import astuple, fields
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, Final, Literal, NamedTuple, get_args

from companion.base.clean import clean_json, clean_line
from companion.base.digest import blake2b
from companion.base.value import Value

Row = tuple[str | int | None, ...]
"""An entry's values in the order of `COLUMNS`."""


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


Source = Literal["line", "key", "pedal", "voice", "board", "program"]
"""Where a command came from."""


def utc_now() -> str:
    """Return the time now, UTC, ISO 8601 with milliseconds."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


class Entry(Value, kw_only=True):
    """One thing that happened."""

    kind: EntryKind
    stage: str
    source: Source = "program"
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


COLUMNS: Final = tuple(field.name for field in fields(Entry))
"""Of the table of entries, beside the seal."""
_LINES: Final = ("stage", "words", "weaver")
_JSON: Final = ("command", "events", "state")
_NUMBERS: Final = ("number", "position", "total", "is_finished")
_MAY_LACK: Final = ("command", "state")
_MOST_NUMBER: Final = 2**53
_FIRST_YEAR: Final = 1970
_LAST_YEAR: Final = 2999
_SEAL_BYTES: Final = 8
_encode: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr).encode
"""The same text for the same values, always; another would break every seal there is."""


def seal(before: str, values: Iterable[str | int | None]) -> str:
    """Return the check of what follows something that was sealed with `before`.

    A seal hangs on all before it, so an entry that was changed, lost or moved breaks the row.
    """
    content = _encode([before, *values])
    seal: str = blake2b(content.encode(), digest_size=_SEAL_BYTES).hexdigest()
    return seal


def row_of(entry: Entry) -> Row:
    """Return an entry's values as they are stored, its texts cleaned."""
    values = _cleaned(dict(zip(COLUMNS, astuple(entry), strict=True)))
    return tuple(int(each) if isinstance(each, bool) else each for each in values.values())


def entry_of(row: Row) -> Entry:
    """Return the entry of a row, its texts cleaned; ValueError if it makes no sense."""
    values: dict[str, Any] = dict(zip(COLUMNS, row, strict=True))
    for name, value in values.items():
        _check(name, value)
    values["kind"] = EntryKind(values["kind"])
    values["is_finished"] = bool(values["is_finished"])
    return Entry(**_cleaned(values))


def _check(name: str, value: object) -> None:
    """Raise ValueError where a companion would not have written such a value."""
    if name in _NUMBERS:
        if not isinstance(value, int) or not 0 <= value < _MOST_NUMBER:
            raise ValueError(f"{name} is no whole number")
    elif isinstance(value, str):
        if name in _CHECKS and not _CHECKS[name](value):
            raise ValueError(f"{name} is not as it should be")
    elif value is not None or name not in _MAY_LACK:
        raise ValueError(f"{name} is no text")


def _is_time(text: str) -> bool:
    at = datetime.fromisoformat(text)
    return at.tzinfo is not None and _FIRST_YEAR <= at.year <= _LAST_YEAR


def _is_events(text: str) -> bool:
    events = [] if text == "[]" else json.loads(text)
    return isinstance(events, list) and all(
        isinstance(each, dict) and isinstance(each.get("event"), str) for each in events
    )


_CHECKS: Final[dict[str, Callable[[str], bool]]] = {
    "at": _is_time,
    "source": frozenset(get_args(Source)).__contains__,
    "events": _is_events,
    "command": lambda text: isinstance(json.loads(text), dict),
}


def _cleaned(values: dict[str, Any]) -> dict[str, Any]:
    """Return values with nothing in their texts that acts instead of being read."""
    for name in _LINES:
        values[name] = clean_line(values[name])
    for name in _JSON:
        if values[name] is not None:
            values[name] = clean_json(values[name])
    return values
