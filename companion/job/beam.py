"""Winding the warp on its beam, turn by turn.

Even tension, packing between the layers, ties undone one at a time, tangles snapped out and never
forced, and leaving off about 12 inches before the castle are from the tutorial at
tygartlakefiberarts.com/wp/?page_id=83; lashing the rod only when the warp is spread is from
weavingfromparadise.guildford.nz, 21 July 2021.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from companion.job.contents import BeamTask, Note, Turns
from companion.job.step_builder import in_groups, in_stretches
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import BeamPlan, Dressing

MOST_STEPS: Final = 8
"""Steps of turning in one group at most; our own choice."""
_TIES_EVERY: Final = 3
"""Steps from one reminder of the choke ties to the one after; our own choice."""


def beam_stage(dressing: Dressing) -> Stage:
    """Return the beaming; nothing is counted, since turns cannot be told once they are made."""
    groups = in_groups(_groups(dressing))
    return Stage("beam", "turn", *groups, dressing, item="step", danger=Danger.LOADED_BEAM)


def _groups(dressing: Dressing) -> Iterator[Sequence[Step]]:
    yield [_step(task) for task in _preparations(dressing)]
    if dressing.beam is None:
        yield [_step(BeamTask.WIND_ALL)]
    else:
        yield from in_stretches(_turning(dressing.beam), MOST_STEPS)
    yield [_step(BeamTask.LEAVE_OFF), _step(BeamTask.SET_BRAKE)]


def _step(content: BeamTask | Turns, *notes: Note) -> Step:
    return Step(amount=0, content=content, notes=notes)


def _preparations(dressing: Dressing) -> Iterator[BeamTask]:
    if dressing.method == "front-to-back":
        yield BeamTask.COMB_OUT
    else:
        if dressing.raddle is not None:
            yield BeamTask.CLOSE_RADDLE
        yield BeamTask.LASH_ROD
        yield BeamTask.CHECK_STICKS
    yield BeamTask.LAY_PACKING


def _turning(plan: BeamPlan) -> list[Step]:
    size, most = plan.turns_a_step, plan.most_turns
    firsts = range(1, most + 1, size)
    return [
        _step(Turns(first, min(first + size - 1, most)), _reminder(number))
        for number, first in enumerate(firsts, start=1)
    ]


def _reminder(step: int) -> Note:
    if step == 1:
        return Note.PACKING_BEGINS
    return Note.CHOKE_TIES if step % _TIES_EVERY == 0 else Note.PACKING
