"""Recorded times, kept in UTC, as the clock on the wall shows them."""

from datetime import datetime
from typing import Literal


def local(at: str, to: Literal["minutes", "seconds", "offset"] = "minutes") -> str:
    """Return a time of ISO 8601 as "2026-03-05 14:05", local, or with its offset; else the text."""
    try:
        here = datetime.fromisoformat(at).astimezone()
        form = _FORMATS.get(to)
        return here.strftime(form) if form else here.isoformat(timespec="milliseconds")
    except (ValueError, OverflowError, OSError):
        return at


def lately(at: str) -> str:
    """Return a time as `local` does, one of today as "14:05 today"."""
    day, _, time = local(at).partition(" ")
    return f"{time} today" if day == datetime.now().astimezone().strftime("%Y-%m-%d") else local(at)


_FORMATS = {"minutes": "%Y-%m-%d %H:%M", "seconds": "%Y-%m-%d %H:%M:%S"}
