"""Writing a new plan where nothing is overwritten and nothing is left half written."""

from __future__ import annotations

import os
from contextlib import suppress
from itertools import count
from typing import TYPE_CHECKING, Final

from companion.base.errors import CompanionError
from companion.record.naming import slug

if TYPE_CHECKING:
    from pathlib import Path

_RESERVED: Final = frozenset({"con", "prn", "aux", "nul"}) | {
    f"{port}{number}" for port in ("com", "lpt") for number in range(10)
}
"""Names that are devices on Windows, whatever comes after a dot (Microsoft, "Naming Files, Paths,
and Namespaces")."""


def check_free(path: Path) -> None:
    """Raise CompanionError where a plan cannot be written under this name."""
    if path.exists():
        raise CompanionError(f"{path} exists already. Name another file, or move it first.")
    if not path.parent.is_dir():
        raise CompanionError(f"{path.parent} is not a folder. Name a folder that there is.")


def write_plan(path: Path, text: str) -> None:
    """Write a new plan file, flushed to the disk.

    Raises:
        CompanionError: the file exists or cannot be written; nothing of it is left behind.
    """
    check_free(path)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            try:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            except OSError:
                with suppress(OSError):
                    path.unlink()
                raise
    except FileExistsError:
        raise CompanionError(f"{path} exists already. Name another file.") from None
    except OSError as error:
        raise CompanionError(f"{path} cannot be written: {error.strerror}.") from None


def free_path(folder: Path, title: str) -> Path:
    """Return a path in the folder that is not taken, named after a plan's title."""
    name = slug(title)
    if name in _RESERVED:
        name = f"plan-{name}"
    names = (name if number == 1 else f"{name}-{number}" for number in count(1))
    return next(path for each in names if not (path := folder / f"{each}.toml").exists())
