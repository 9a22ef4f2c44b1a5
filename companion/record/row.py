"""Entries as rows of the table, each sealed, so that a changed one is noticed."""

from __future__ import annotations

import json
from dataclasses import astuple, fields
from datetime import datetime
from hashlib import blake2b
from typing import TYPE_CHECKING, Any, Final

from companion.base.clean import clean_json, clean_line
from companion.record.entry import Entry, EntryKind, Source

if TYPE_CHECKING:
    from collections.abc import Iterable

    Value = str | int | None
    Row = tuple[Value, ...]
    """An entry's values in the order of `COLUMNS`."""

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
_KINDS: Final = {kind.value: kind for kind in EntryKind}
_SOURCES: Final = {source.value: source for source in Source}
_encode: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr).encode
"""The same text for the same values, always; another would break every seal there is."""


def seal(before: str, values: Iterable[Value]) -> str:
    """Return the check of what follows something that was sealed with `before`.

    A seal hangs on all before it, so an entry that was changed, lost or moved breaks the row.
    """
    content = _encode([before, *values])
    return blake2b(content.encode(), digest_size=_SEAL_BYTES).hexdigest()


def row_of(entry: Entry) -> Row:
    """Return an entry's values as they are stored, its texts cleaned."""
    values = _cleaned(dict(zip(COLUMNS, astuple(entry), strict=True)))
    return tuple(int(each) if isinstance(each, bool) else each for each in values.values())


def entry_of(row: Row) -> Entry:
    """Return the entry of a row, its texts cleaned; ValueError or KeyError if it makes no sense."""
    values: dict[str, Any] = dict(zip(COLUMNS, row, strict=True))
    for name, value in values.items():
        _check(name, value)
    values["kind"], values["source"] = _KINDS[values["kind"]], _SOURCES[values["source"]]
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


def _is_command(text: str) -> bool:
    return isinstance(json.loads(text), dict)


_CHECKS: Final = {"at": _is_time, "events": _is_events, "command": _is_command}


def _cleaned(values: dict[str, Any]) -> dict[str, Any]:
    """Return values with nothing in their texts that acts instead of being read."""
    for name in _LINES:
        values[name] = clean_line(values[name])
    for name in _JSON:
        if values[name] is not None:
            values[name] = clean_json(values[name])
    return values
