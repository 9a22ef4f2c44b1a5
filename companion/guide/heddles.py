"""Heddles that the weaver finds left over, or missing, beside the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.command import Kind
from companion.guide.effects import Outcome, accepted
from companion.guide.events import HeddlesReported
from companion.guide.position import stretch
from companion.guide.refuse import refused
from companion.guide.terms import WhyNot
from companion.guide.touch_check import planned
from companion.guide.walk import suspected

if TYPE_CHECKING:
    from companion.command import Command
    from companion.guide.state import State
    from companion.job import Stage


def heddle(state: State, command: Command, stage: Stage) -> Outcome:
    """Take one heddle more, or fewer, on a shaft than planned; reports add up or cancel out."""
    shaft = command.number or 0
    steps = stretch(state, stage)
    if stage.counted != "end" or not stage.has_shafts:
        return refused(state, stage, WhyNot.NO_HEDDLES)
    if not planned(stage, steps):
        return refused(state, stage, WhyNot.NOTHING_IN_GROUP)
    from companion.guide.diagnosis import planned_ends  # noqa: PLC0415 - as in position

    shafts = planned_ends(stage, steps).all_shafts
    if shaft not in shafts:
        return refused(state, stage, WhyNot.NO_SUCH_SHAFT, number=shaft, limit=max(shafts))
    spare = dict(state.reported.spare)
    spare[shaft] = spare.get(shaft, 0) + (1 if command.kind is Kind.SPARE else -1)
    told = tuple(sorted((shaft, number) for shaft, number in spare.items() if number))
    after = replace(state, reported=state.reported._replace(spare=told))
    return accepted(after, "confirm", HeddlesReported(told), suspected(after, stage))
