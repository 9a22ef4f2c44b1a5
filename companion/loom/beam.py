"""How many turns the warp makes on its beam."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.loom import measures
from companion.loom.dressing import BeamPlan

if TYPE_CHECKING:
    from companion.loom.dressing import Yarns
    from companion.plan.file.reader import Plan

LEFT_INCHES: Final = 12
"""Warp left off the beam, in front of the castle, to thread with (the tutorial at
tygartlakefiberarts.com/wp/?page_id=83)."""


def beam(plan: Plan, yarns: Yarns | None) -> BeamPlan | None:
    """Return the turns of the bare beam that the wound warp comes to, less what is left off it.

    The turns are the most it can take, and the weaver leaves off sooner: each layer makes the next
    turn longer, and some of the warp lies between beam and shafts.

    Args:
        plan: the plan.
        yarns: its lengths; None where it gives none.
    """
    table = plan.file.beam
    if table is None or yarns is None:
        return None
    turn = measures.inches(plan.file, table.around)
    return BeamPlan(max(1, int((yarns.wind - LEFT_INCHES) / turn)), table.turns_a_step)
