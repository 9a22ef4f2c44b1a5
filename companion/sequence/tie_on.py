"""Tying the warp to a rod, bout by bout from the centre outward."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from companion.dressing.tie_on import bouts
from companion.sequence.making import Told, ToldGroup, in_stretches, number_of, numbered, span
from companion.sequence.sides import near_and_far
from companion.sequence.steps import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from companion.dressing.dressing import Dressing
    from companion.dressing.tie_on import Bout

MOST_BOUTS: Final = 8
"""Bouts counted together at most; our own choice."""
_TENSION_EVERY: Final = 4
"""Bouts from one reminder to compare the tension to the one after; our own choice."""

TieOnName = Literal["tie-on", "tie-on-rear"]


def tie_on_stage(dressing: Dressing, name: TieOnName) -> Stage:
    """Return the tying on, a bout a step, at the front or (tie-on-rear) at the warp beam."""
    is_rear = name == "tie-on-rear"
    near, far = near_and_far(dressing)
    sides = {"near": far, "far": near} if is_rear else {"near": near, "far": far}
    width = len(dressing.ends) / dressing.sett
    is_near_first = sides["near"] == "right"
    order = bouts(len(dressing.ends), width, is_near_first=is_near_first)
    view = "behind" if is_rear else "the front"
    steps, groups = numbered(_groups(order, sides, view))
    return Stage(
        name=name,
        title="tying on at the warp beam" if is_rear else "tying on at the front",
        counted="bouts",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing, is_rear=is_rear)),
        item="bout",
        asked="of its bouts are tied",
    )


def _groups(order: Sequence[Bout], sides: dict[str, str], view: str) -> Iterator[ToldGroup]:
    steps = [_told(bout, number, len(order), sides, view) for number, bout in enumerate(order, 1)]
    for first, last in in_stretches(1, len(steps), MOST_BOUTS):
        yield ToldGroup(
            span("bout", first, last),
            steps[first - 1 : last],
            too_few="a bout passed over",
            too_many="a bout divided into two",
        )


def _told(bout: Bout, number: int, total: int, sides: dict[str, str], view: str) -> Told:
    place = "at the centre"
    if bout.rank:
        place = f"number {bout.rank} {sides[bout.place]} of the centre, seen from {view}"
    words = f"bout {number}, {place}: {number_of(bout.ends, 'end')}"
    note = _reminder(number, total)
    return Told(words, note=note, first_end=bout.first, last_end=bout.last)


def _reminder(number: int, total: int) -> str:
    if number == total:
        return (
            "This is the last one. Go over them all in the same order, tighten each, pat across "
            "until they feel alike, and finish with bows."
        )
    if number % _TENSION_EVERY == 0:
        return "Tension: pat across the bouts so far; they should feel alike."
    return ""


def _start(dressing: Dressing, *, is_rear: bool) -> Iterator[str]:
    yield (
        "Divide each bout in two, take the halves around the rod from beneath, and tie them over "
        "the bout with the first half of a bow."
    )
    seen = "behind the loom" if is_rear else "the front of the loom"
    yield f"Begin at the centre and go outward, right and left by turns, seen from {seen}."
    if dressing.sley.floating:
        yield "The floating selvedge at each edge is tied on, or weighted, by itself."
