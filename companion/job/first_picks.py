"""The first picks: sheds to look across, picks of waste, and what a fault would mean.

Opening each shed and looking through it is from Hall and Buck, "Handicrafts for the
Handicapped" (1916). What each fault means is common practice, no source.
"""

from collections.abc import Iterator
from typing import Final

from companion.job.contents import ClothFault, Note, Waste
from companion.job.step_builder import in_groups
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing
from companion.loom.first_picks import FirstPicks, first_picks

_WASTE: Final = 6
"""Picks of waste; our own choice."""


def first_picks_stage(dressing: Dressing) -> Stage:
    """Return the sheds, the waste and the faults, with nothing to count."""
    groups = in_groups(_groups(dressing, first_picks(dressing)))
    danger = None if dressing.loom_kind == "table" else Danger.TREADLES
    return Stage("first-picks", "pick", *groups, dressing, item="step", danger=danger)


def _groups(dressing: Dressing, picks: FirstPicks) -> Iterator[list[Step]]:
    yield [Step(amount=0, content=shed) for shed in picks.sheds]
    yield [Step(amount=0, content=_waste(dressing, picks), notes=(Note.FEEL_CLOTH,))]
    yield [Step(amount=0, content=fault) for fault in ClothFault]


def _waste(dressing: Dressing, picks: FirstPicks) -> Waste:
    if picks.is_plain:
        return Waste(_WASTE, "sheds")
    is_treadled = dressing.draft.moves
    return Waste(_WASTE, "treadling" if is_treadled else "shafts")
