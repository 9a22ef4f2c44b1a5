"""A session as comma-separated values (RFC 4180), for a spreadsheet or another program."""

import csv
import json
from typing import Any, Final, TextIO

from companion.base.clean import cell
from companion.base.local_time import local
from companion.record.entry import Entry
from companion.record.journal import Journal

CSV_COLUMNS = (
    "number",
    "at",
    "stage",
    "kind",
    "source",
    "words",
    "position",
    "total",
    "weaver",
    "state",
    "command",
    "events",
    "count",
    "expected",
    "reason",
)
"""These names and their order stay; new columns come after them. The last three are those of a
count: what was counted, what was planned, and why it stands."""
_OF_COUNT: Final = ("count", "expected", "reason")


def export_csv(journal: Journal, stream: TextIO) -> None:
    """Write a heading and one row for each entry; open the stream with newline="".

    Times are local, with their distance from UTC (ISO 8601).
    """
    writer = csv.writer(stream)
    writer.writerow(CSV_COLUMNS)
    for entry in journal.entries():
        row = _row(entry)
        values = (row[column] for column in CSV_COLUMNS)
        writer.writerow(cell(value) if isinstance(value, str) else value for value in values)


def _row(entry: Entry) -> dict[str, Any]:
    """Return a row's values; of the events their names alone."""
    events: list[dict[str, Any]] = json.loads(entry.events)
    own = {name: getattr(entry, name) for name in CSV_COLUMNS if hasattr(entry, name)}
    told = {name: value for event in reversed(events) for name, value in event.items()}
    counts = {name: told.get(name, "") for name in _OF_COUNT}
    own["at"] = local(entry.at, "offset")
    return {**own, "events": " ".join(event["event"] for event in events), **counts}
