"""Right and left, never without where they are seen from."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing


def near_and_far(dressing: Dressing) -> tuple[str, str]:
    """Return the side of the first end and the other one, seen from the front of the loom."""
    return ("right", "left") if dressing.first_end == "right" else ("left", "right")


def shaft_one(dressing: Dressing) -> str:
    """Return the sentence that says which shaft is shaft 1."""
    is_front = dressing.shaft_one == "front"
    return (
        f"Shaft 1 is the {'front' if is_front else 'rear'} shaft, "
        f"nearest the {'breast' if is_front else 'warp'} beam."
    )


def start_at_edge(dressing: Dressing, *, is_behind: bool) -> Iterator[str]:
    """Yield the sentences that say from which edge to work.

    Args:
        dressing: what is walked.
        is_behind: whether the weaver may be behind the loom, where the sides are exchanged.
    """
    near, far = near_and_far(dressing)
    yield f"Start at the {near} edge, seen from the front of the loom, and work towards the {far}."
    if is_behind:
        yield (
            f"Seen from behind the loom, at the warp beam, that is the {far} edge, "
            f"and the work goes towards the {near}."
        )
