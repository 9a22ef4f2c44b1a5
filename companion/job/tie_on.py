"""Tying the warp to a rod, bout by bout from the centre outward."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from companion.job.sides import near_and_far
from companion.job.step_builder import Told, ToldGroup, in_stretches, number_of, numbered, span
from companion.job.steps import Stage
from companion.loom.tie_on import bouts

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from companion.loom.dressing import Dressing
    from companion.loom.tie_on import Bout

MOST_BOUTS: Final = 8
"""Bouts counted together at most; our own choice."""
_REMINDED_EVERY: Final = 4
"""Bouts from one reminder to compare them to the one after; our own choice."""

TieOnName = Literal["tie-on", "tie-on-rear"]
_FINISH: Final = (
    "This is the last one. Go over them all in the same order, tighten each, pat across until they "
    "feel alike, and finish with bows."
)
_REMINDERS: Final[dict[TieOnName, tuple[str, str]]] = {
    "tie-on": ("Tension: pat across the bouts so far; they should feel alike.", _FINISH),
    "tie-on-rear": (
        "Feel along the rod: the knots should lie in one line.",
        "This is the last one. Feel along the rod once more, and draw every knot firm.",
    ),
}
"""What is said every few bouts, and with the last one."""


def tie_on_stage(dressing: Dressing, name: TieOnName) -> Stage:
    """Return the tying on, a bout a step, at the front or (tie-on-rear) at the warp beam."""
    is_rear = name == "tie-on-rear"
    near, far = near_and_far(dressing)
    sides = {"near": far, "far": near} if is_rear else {"near": near, "far": far}
    width = len(dressing.ends) / dressing.sett
    is_near_first = sides["near"] == "right"
    order = bouts(len(dressing.ends), width, is_near_first=is_near_first)
    view = "behind" if is_rear else "the front"
    steps, groups = numbered(_groups(order, sides, view, _REMINDERS[name]))
    return Stage(
        name=name,
        title="tying on at the warp beam" if is_rear else "tying on at the front",
        counted="bouts",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing, is_rear=is_rear)),
        dressing=dressing,
        item="bout",
        asked="of its bouts are tied",
    )


def _groups(
    order: Sequence[Bout], sides: dict[str, str], view: str, reminders: tuple[str, str]
) -> Iterator[ToldGroup]:
    steps = []
    for number, bout in enumerate(order, start=1):
        note = _reminder(number, len(order), *reminders)
        words = f"bout {number}, {_place(bout, sides, view)}: {number_of(bout.ends, 'end')}"
        steps.append(Told(words, note=note, first_end=bout.first, last_end=bout.last))
    for first, last in in_stretches(1, len(steps), MOST_BOUTS):
        yield ToldGroup(
            span("bout", first, last),
            steps[first - 1 : last],
            too_few="a bout passed over",
            too_many="a bout divided into two",
        )


def _place(bout: Bout, sides: dict[str, str], view: str) -> str:
    if not bout.rank:
        return "at the centre"
    return f"number {bout.rank} {sides[bout.place]} of the centre, seen from {view}"


def _reminder(number: int, total: int, often: str, last: str) -> str:
    if number == total:
        return last
    return often if number % _REMINDED_EVERY == 0 else ""


def _start(dressing: Dressing, *, is_rear: bool) -> Iterator[str]:
    yield "Divide each bout in two, and take the halves around the rod from beneath."
    if is_rear:
        yield "Knot them over the bout, all at the same length."
    else:
        yield "Tie them over the bout with the first half of a bow."
    seen = "behind the loom" if is_rear else "the front of the loom"
    yield f"Begin at the centre and go outward, right and left by turns, seen from {seen}."
    if dressing.sley.floating:
        yield "The floating selvedge at each edge is tied on, or weighted, by itself."
