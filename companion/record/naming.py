"""Names for sessions that can be said aloud and typed: "harbour-towels-1"."""

from __future__ import annotations

import re
import unicodedata
from itertools import chain, count
from typing import TYPE_CHECKING

from companion.record.store import SUFFIX

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


def free_paths(folder: Path, title: str, wanted: str = "") -> Iterator[Path]:
    """Yield the paths a new session of this title may have, lowest number first.

    A name that is wanted comes before the others if it is one that this title can have.

    A number with anything left of it, even only a write-ahead log, is passed over: SQLite would
    replay the old log into the new file.
    """
    name = slug(title)
    is_fit = re.fullmatch(rf"{re.escape(name)}-[1-9][0-9]{{0,5}}", wanted)
    names = chain([wanted] if is_fit else [], (f"{name}-{number}" for number in count(1)))
    for each in names:
        path = folder / f"{each}{SUFFIX}"
        if not any(path.with_name(path.name + end).exists() for end in ("", "-wal", "-shm")):
            yield path
