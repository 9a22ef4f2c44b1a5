"""A name for a new plan's file."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from companion.record.naming import slug

if TYPE_CHECKING:
    from pathlib import Path


def free_path(folder: Path, title: str) -> Path:
    """Return a path in the folder that is not taken, named after a plan's title."""
    name = slug(title)
    names = (name if number == 1 else f"{name}-{number}" for number in count(1))
    return next(path for each in names if not (path := folder / f"{each}.toml").exists())
