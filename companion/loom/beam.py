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


def beam(plan: Plan, yarns: Yarns | None, number: int = 1) -> BeamPlan | None:
    """Return the turns of the bare beam that the wound warp comes to, less what is left off it.

    The turns are the most it can take, and the weaver leaves off sooner: each layer makes the next
    turn longer, and some of the warp lies between beam and shafts. Number 2 is a second beam,
    which may be of another size.
    """
    table = plan.file.beam
    if table is None or yarns is None:
        return None
    second = plan.file.second_beam if number > 1 else None
    around = second.around if second and second.around else table.around
    turn = measures.inches(plan.file, around)
    return BeamPlan(max(1, int((yarns.wind - LEFT_INCHES) / turn)), table.turns_a_step)
