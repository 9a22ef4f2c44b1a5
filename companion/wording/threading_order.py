"""What is said where threading does not go from the edge of end 1 to the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted, in_breaths

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.job import Step
    from companion.loom.dressing import Dressing


def before_step(step: Step, dressing: Dressing) -> Iterator[str]:
    """Yield what to do before a step: go back, or leave heddles free for ends threaded later."""
    behind = f", on your {dressing.last_edge}" if dressing.method == "front-to-back" else ""
    edge = f"{dressing.first_end} edge, seen from the front{behind}"
    if step.is_back and dressing.thread_first:
        yield f"Back to the {edge}. Each of the others takes the next free heddle on its shaft."
    elif step.is_back:
        yield f"Back to the centre, and out to the {edge}."
    if step.heddles_left:
        used = sum(row.needed > 0 for row in dressing.heddles)
        yield f"Leave free {'; '.join(_heddles(step.heddles_left, used))}."


def _heddles(left: tuple[tuple[int, int], ...], used: int) -> Iterator[str]:
    """Yield the heddles to leave, shafts with as many together: "1 heddle on shaft 3"."""
    numbers = dict.fromkeys(number for _, number in left)
    for at, number in enumerate(numbers):
        shafts = [shaft for shaft, own in left if own == number]
        each = "on each of " if len(shafts) > 1 else "on "
        where = "on each shaft" if len(shafts) == used > 1 else each + in_breaths("shaft", shafts)
        yield f"{number if at else counted(number, 'heddle')} {where}"


def is_from_centre(dressing: Dressing) -> bool:
    """Return whether its threading begins in the middle."""
    return bool(dressing.back_at) and dressing.thread_from == "centre"


def order_told(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what an order of threading of its own means for the numbers, before it begins."""
    if dressing.thread_first:
        free = "; leave free the heddles that are told" if is_whole else ""
        yield f"First all {dressing.thread_first} ends, then the others{free}."
    if is_whole and dressing.back_at:
        yield "Ends are numbered as you thread them."


def start_at_centre(dressing: Dressing, *, is_whole: bool, is_behind: bool) -> str:
    """Return where to start in the middle and where to go; behind the loom sides are exchanged."""
    near, far = dressing.first_end, dressing.last_edge
    behind = f": behind the loom, first to your {near}" if is_behind else ""
    loom = " of the loom" if is_whole else ""
    seen = f"seen from the front{loom}{behind}"
    return f"Start at the centre, out to the {far} edge first, {seen}."


def first_dent_at_centre(dressing: Dressing, *, is_whole: bool) -> str:
    """Return in which dent the first end lies, counted from the middle of the reed."""
    sley, dent = dressing.sley, dressing.ends[0].dent
    off = 2 * (sley.first_dent + dent - 1) - sley.reed_dents - 1
    side = dressing.last_edge if off > 0 else dressing.first_end
    seen = "seen from the front" + (" of the loom" if is_whole else "")
    where = f"dent {(abs(off) + 1) // 2} to the {side} of the reed's middle, {seen}"
    that = where if off else "the middle one of the reed"
    return (
        f"End 1 goes into dent {dent}. That is {that}." if is_whole else f"Dent {dent} is {that}."
    )


def order_line(dressing: Dressing) -> str:
    """Return in one printed line how the ends are threaded; "" where it is from edge to edge."""
    if dressing.thread_first:
        return f"Threaded first: all {dressing.thread_first} ends; then the others."
    if dressing.thread_from == "centre":
        return (
            f"Threaded from the centre: out to the {dressing.last_edge} edge, then from the centre "
            f"to the {dressing.first_end}."
        )
    return ""
