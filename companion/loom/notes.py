"""Advice on a plan that does not stop the work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted, listed
from companion.loom import heddles, sley
from companion.loom.warp import ends_in_heddles
from companion.plan.draft.ends import asked_ends
from companion.plan.draft.lifts import lifted_shafts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.loom.dressing import ShaftHeddles
    from companion.loom.tie_up import TieUpPlan
    from companion.plan.file.reader import Plan
    from companion.plan.schema import Loom

_COUNTERBALANCE_SHAFTS = 4
_MOST_TOLD = 12


def notes(plan: Plan, rows: Sequence[ShaftHeddles], ties: TieUpPlan | None) -> tuple[str, ...]:
    """Return every note, each a sentence fit to be spoken."""
    return (
        *(f"{note}." for note in plan.notes),
        *_width(plan),
        *sley.notes(plan),
        *heddles.notes(plan, rows),
        *_loom(plan.file.loom),
        *_sheds(plan),
        *(_ties(plan, ties) if ties else ()),
    )


def _width(plan: Plan) -> list[str]:
    """Return a note where whole passes of the threading fill less than the width asked for."""
    asked, there = asked_ends(plan.file), ends_in_heddles(plan)
    if asked in {None, there}:
        return []
    return [f"The width asked for takes {asked} ends; whole passes of the threading hold {there}."]


def _loom(loom: Loom) -> list[str]:
    """Return notes on the loom itself; both are common practice, no source."""
    found = []
    if loom.kind == "counterbalance" and loom.shafts != _COUNTERBALANCE_SHAFTS:
        found.append(
            f"A counterbalance loom mostly has 4 shafts that balance each other; this plan says "
            f"{loom.shafts}, so make sure that its sheds open."
        )
    if loom.method == "front-to-back" and loom.passes == "together":
        found.append(
            "A warp brought in from the front is mostly sleyed first and threaded after; "
            "separate passes would guide you so."
        )
    return found


def _sheds(plan: Plan) -> list[str]:
    """Return a note on sheds that a counterbalance loom opens unevenly: common practice, no source.

    Its shafts hang in balance, as many up as down.
    """
    used = len(set(plan.draft.shafts))
    if plan.file.loom.kind != "counterbalance" or used != _COUNTERBALANCE_SHAFTS:
        return []
    sheds = dict.fromkeys(lifted_shafts(plan.draft))
    uneven = [shed for shed in sheds if len(shed) in {1, used - 1}]
    if not uneven:
        return []
    told = f"{counted(len(uneven), 'shed')} of this plan {'sets' if len(uneven) == 1 else 'set'}"
    why = "on a counterbalance loom such a shed opens unevenly, so try it first"
    return [f"{told} 1 shaft against 3; {why}."]


def _ties(plan: Plan, ties: TieUpPlan) -> list[str]:
    """Return what becomes of picks that press treadles together on a loom that moves otherwise."""
    number, loom = len(plan.draft.treadles), f"a {plan.file.loom.kind} loom"
    if ties.way == "none":
        sheds = len({lift for lift in lifted_shafts(plan.draft) if lift})
        why = f"The picks that press treadles together cannot be had on {loom} with these ties"
        room = f"{sheds} sheds with a treadle each are more than its {counted(number, 'treadle')}"
        return [f"{why}, and {room}."]
    if ties.way != "a-shed-each":
        return []
    pairs = zip(plan.draft.picks, ties.picks, strict=True)
    moved = {planned: own for planned, own in pairs if planned != own and own}
    told = [f"{'+'.join(map(str, planned))} press {own[0]}" for planned, own in moved.items()]
    why = f"Treadles pressed together make other sheds on {loom}"
    return [
        f"{why}, so each shed has a treadle of its own: instead of {listed(told, most=_MOST_TOLD)}."
    ]
