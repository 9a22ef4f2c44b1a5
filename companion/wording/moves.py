"""What is said of heddles that must move to another shaft before threading begins.

Sliding them across on a stick or a cord, all the same way up, is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing, HeddleMove


def moves_opening() -> Iterator[str]:
    """Yield why heddles move, and how."""
    yield (
        "Some shafts have too few heddles: slide them over on a stick or a cord, all the same way "
        "up, and close the bars again before the next."
    )


between = "from shaft {0.from_shaft} to shaft {0.to_shaft}".format


def how_many(move: HeddleMove) -> str:
    """Return how many heddles move."""
    return f"move {counted(move.number, 'heddle')}"


def move_lines(dressing: Dressing) -> Iterator[str]:
    """Yield each move as a printed line."""
    for move in dressing.moves:
        yield f"Before threading, {how_many(move)} {between(move)}."
