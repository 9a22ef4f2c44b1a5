"""Advice on a plan that does not stop the work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.loom import heddles, sley
from companion.loom.warp import ends_in_heddles
from companion.plan.draft.ends import asked_ends

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.loom.dressing import ShaftHeddles
    from companion.plan.file.reader import Plan
    from companion.plan.schema import Loom

_COUNTERBALANCE_SHAFTS = 4


def notes(plan: Plan, rows: Sequence[ShaftHeddles]) -> tuple[str, ...]:
    """Return every note, each a sentence fit to be spoken."""
    return (
        *(f"{note}." for note in plan.notes),
        *_width(plan),
        *sley.notes(plan),
        *heddles.notes(plan, rows),
        *_loom(plan.file.loom),
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
