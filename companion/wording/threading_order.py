"""What is said where threading does not go from the edge of end 1 to the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.base.text import counted, in_breaths, span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from companion.job import Step
    from companion.loom.dressing import Dressing

_MOST_IN_ORDER: Final = 8
"""Shafts whose numbers are told in a row, by their place in it."""


def before_step(step: Step, dressing: Dressing) -> Iterator[str]:
    """Yield what to do before a step: go back, or leave heddles free for ends threaded later."""
    behind = f", on your {dressing.last_edge}" if dressing.method == "front-to-back" else ""
    edge = f"{dressing.first_end} edge, seen from the front{behind}"
    if step.is_back and dressing.thread_first:
        yield f"Back to the {edge}. Each end now takes the next free heddle on its shaft."
    elif step.is_back:
        yield f"Back to the centre, and out to the {edge}."
    if step.heddles_left:
        used = [row.shaft for row in dressing.heddles if row.needed]
        yield f"Leave free {_heddles(dict(step.heddles_left), used)}."


def _heddles(left: dict[int, int], used: Sequence[int]) -> str:
    """Return the heddles to leave: shaft by shaft where the ear can follow, else alike together."""
    shafts = range(min(left), max(left) + 1)
    if len(set(left.values())) == 1 and (len(left) == 1 or set(left) == set(used)):
        where = "each shaft" if len(left) > 1 else f"shaft {shafts[0]}"
        return f"{counted(left[shafts[0]], 'heddle')} on {where}"
    if len(shafts) <= _MOST_IN_ORDER:
        numbers = ", ".join(str(left.get(shaft, 0)) for shaft in shafts)
        return f"heddles on {span('shaft', shafts[0], shafts[-1])}: {numbers}"
    return "; ".join(
        f"{number if at else counted(number, 'heddle')} on "
        f"{in_breaths('shaft', [shaft for shaft in sorted(left) if left[shaft] == number])} each"
        for at, number in enumerate(dict.fromkeys(left.values()))
    )


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
