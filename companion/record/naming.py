"""Names for sessions that can be said aloud and typed: "harbour-towels-1"."""

import re
import unicodedata
from itertools import chain, count
from pathlib import Path

from companion.base.files import is_reserved
from companion.record.store import SUFFIX, is_free

_MOST_WORDS = 3
_MOST_LETTERS = 32


def slug(title: str) -> str:
    """Return the first words of a title in small letters joined by hyphens, without accents."""
    apart = unicodedata.normalize("NFKD", title.lower().replace("'", ""))
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    words = re.findall(r"[^\W_]+", unicodedata.normalize("NFC", plain))[:_MOST_WORDS]
    name = "-".join(words)[:_MOST_LETTERS].rstrip("-") or "session"
    return f"plan-{name}" if is_reserved(name) else name


def free_path(folder: Path, title: str, wanted: str = "") -> Path:
    """Return the path of a new session, wanted if it fits the title, else with a free number."""
    name = slug(title)
    is_fit = re.fullmatch(rf"{re.escape(name)}-[1-9][0-9]{{0,5}}", wanted)
    names = chain([wanted] if is_fit else [], (f"{name}-{number}" for number in count(1)))
    paths = (folder / f"{each}{SUFFIX}" for each in names)
    return next(path for path in paths if is_free(path))
