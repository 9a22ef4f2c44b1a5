"""Names for sessions that can be said aloud and typed: "harbour-towels-1"."""

from __future__ import annotations

import re
import unicodedata
from itertools import count
from typing import TYPE_CHECKING

from companion.journal.store import SUFFIX

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_MOST_WORDS = 3
_MOST_LETTERS = 32


def slug(title: str) -> str:
    """Return the first words of a title in small letters joined by hyphens, in any script.

    Accents go, since not every keyboard has them.
    """
    apart = unicodedata.normalize("NFKD", title.lower().replace("'", ""))
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    words = re.findall(r"[^\W_]+", unicodedata.normalize("NFC", plain))[:_MOST_WORDS]
    return "-".join(words)[:_MOST_LETTERS].rstrip("-") or "session"


def free_paths(folder: Path, title: str) -> Iterator[Path]:
    """Yield the paths a new session of this title may have, lowest number first.

    A number with anything left of it, even only a write-ahead log, is passed over: SQLite would
    replay the old log into the new file.
    """
    name = slug(title)
    for number in count(1):
        path = folder / f"{name}-{number}{SUFFIX}"
        if not any(path.with_name(path.name + end).exists() for end in ("", "-wal", "-shm")):
            yield path
