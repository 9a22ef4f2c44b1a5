"""Which shafts are tied to each treadle, and which way, on each kind of loom.

On a jack loom ties raise shafts and on a counterbalance loom they lower them; on a countermarch
loom every shaft that is used is tied to every treadle, up or down, so that 8 shafts and 10
treadles take 80 cords (leighsfiberjournal.blogspot.com, May 2024). Tie-ups made to press two
treadles at once leave gaps on purpose (fibre2fabric.blogspot.com, September 2007 and July 2008).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from companion.plan.draft.draft import Draft

LoomKind = Literal["jack", "counterbalance", "countermarch"]


class Ties(NamedTuple):
    """The ties of one treadle, as shafts in rising order."""

    up: tuple[int, ...] = ()
    """Shafts that pressing it raises."""
    down: tuple[int, ...] = ()
    """Shafts that pressing it lowers."""

    @property
    def number(self) -> int:
        """How many ties there are to make."""
        return len(self.up) + len(self.down)


@dataclass(frozen=True, slots=True)
class TieUpPlan:
    """The ties of every treadle."""

    treadles: tuple[Ties, ...]
    """Treadle 1 first; a treadle that the draft leaves untied has none."""
    is_as_marked: bool
    """Whether the shafts tied are those the draft marks, not the others."""
    is_unsettled: bool
    """Whether treadles pressed together keep the other shafts' ties from being worked out."""


def tie_up(draft: Draft, kind: LoomKind | None) -> TieUpPlan:
    """Return the ties that make a loom of this kind weave the draft.

    Where the loom moves shafts the other way than the draft marks them, the others that are used
    are tied instead. Where picks press several treadles together that would not make the same
    sheds, so the ties stay as marked.

    Args:
        draft: with at least one treadle.
        kind: None where it is not known; ties then move shafts as the draft marks them.
    """
    used = frozenset(draft.shafts).union(*draft.treadles)
    is_together = any(len(pick) > 1 for pick in draft.picks)
    raises = draft.is_rising_shed if kind in {None, "countermarch"} else kind == "jack"
    needs_others = kind == "countermarch" or raises != draft.is_rising_shed
    are_others_known = needs_others and not is_together
    found = []
    for marked in draft.treadles:
        others = tuple(sorted(used.difference(marked))) if marked and are_others_known else ()
        up, down = (marked, others) if draft.is_rising_shed else (others, marked)
        if are_others_known and kind != "countermarch":
            up, down = (up, ()) if raises else ((), down)
        found.append(Ties(up, down))
    is_as_marked = kind == "countermarch" or not are_others_known
    return TieUpPlan(tuple(found), is_as_marked, needs_others and is_together)
