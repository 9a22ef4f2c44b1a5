"""A session as comma-separated values (RFC 4180), for a spreadsheet or another program."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
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
)
"""These names and their order stay; new columns come after them."""


def export_csv(journal: Journal, stream: TextIO) -> None:
    """Write a heading and one row for each entry; open the stream with newline=""."""
    writer = csv.writer(stream)
    writer.writerow(CSV_COLUMNS)
    for entry in journal.entries():
        writer.writerow(getattr(entry, column) for column in CSV_COLUMNS)
