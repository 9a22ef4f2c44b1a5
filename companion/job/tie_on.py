"""Tying the warp to a rod, bout by bout from the centre outward."""

from collections.abc import Iterator
from typing import Final, Literal

from companion.job.contents import Note
from companion.job.step_builder import in_groups, in_stretches
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing
from companion.loom.tie_on import bouts

MOST_BOUTS: Final = 8
"""Bouts counted together at most; our own choice."""
_REMINDED_EVERY: Final = 4
"""Bouts from one reminder to compare them to the one after; our own choice."""

TieOnName = Literal["tie-on", "tie-on-rear"]
_REMINDERS: Final[dict[TieOnName, tuple[Note, Note]]] = {
    "tie-on": (Note.COMPARE_BOUTS, Note.FINISH_BOUTS),
    "tie-on-rear": (Note.FEEL_ROD, Note.FINISH_ROD),
}
"""What goes with every few bouts, and with the last one."""


def tie_on_stage(dressing: Dressing, name: TieOnName) -> Stage:
    """Return the tying on, a bout a step, at the front or (tie-on-rear) at the warp beam."""
    # Of two bouts as far from the centre the one on the weaver's right comes first, and behind the
    # loom her right is the other one.
    is_near_first = (dressing.first_end == "right") != (name == "tie-on-rear")
    ends = len(dressing.ends)
    order = bouts(ends, dressing.ends_width, is_near_first=is_near_first)
    last = len(order)
    tied = [
        Step(0, bout.first, bout.last, content=bout, notes=tuple(_reminder(number, last, name)))
        for number, bout in enumerate(order, start=1)
    ]
    groups = in_groups(in_stretches(tied, MOST_BOUTS))
    return Stage(name, "bout", *groups, dressing, item="bout", danger=Danger.PULLING_WARP)


def _reminder(number: int, last: int, name: TieOnName) -> Iterator[Note]:
    often, in_the_end = _REMINDERS[name]
    if number == last:
        yield in_the_end
    elif number % _REMINDED_EVERY == 0:
        yield often
