"""What is made once and kept for every run on a machine, whole or not at all: several may share it.

Two that want the same at once both make it, and either's takes the place of the other's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.base.files import replacing

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def array(path: Path, make: Callable[[], np.ndarray]) -> np.ndarray:
    """Return the array kept under a name, made where it is not there yet."""
    if not path.exists():
        made = make()
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path, is_flushed=False) as part, part.open("wb") as file:
            np.save(file, made)
    return np.asarray(np.load(path))


def content(path: Path, make: Callable[[], bytes]) -> bytes:
    """Return the bytes kept under a name, made where they are not there yet."""
    if not path.exists():
        made = make()
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path, is_flushed=False) as part:
            part.write_bytes(made)
    return path.read_bytes()
