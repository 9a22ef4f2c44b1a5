"""What is said where a new warp is knotted to an old one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.job.contents import KnotTask

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing

_TASKS: Final = {
    KnotTask.TUG: "tug at each knot from edge to edge, and tie anew what slips",
    KnotTask.DRAW: "draw the knots through {way}, a few at a time, and never force one",
}


def knots_opening(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield where to sit, where to begin, and how an end is knotted."""
    edge, is_front = dressing.first_end, dressing.method == "front-to-back"
    where = "in front of the reed" if is_front else "behind the heddles"
    yield f"Knot each new end to the old end in its place, {where}."
    loom = " of the loom" if is_whole else ""
    yield f"Begin at the {edge} edge, seen from the front{loom}; take both from the cross."
    held = "The old warp must be tied in its heddles or held by lease sticks"
    yield f"{held}; keep both tight." if is_whole else f"{held}."
    if dressing.sley.floating:
        yield "The floating selvedges are knotted by themselves."


def task_told(task: KnotTask, dressing: Dressing) -> str:
    """Return what is done when every end is knotted."""
    is_front = dressing.method == "front-to-back"
    return _TASKS[task].format(way="reed and heddles" if is_front else "heddles and reed")
