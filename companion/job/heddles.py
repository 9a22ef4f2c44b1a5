"""Making the heddles ready: as many on each shaft as the warp takes, right and left of the centre.

With exact numbers set aside, a heddle left over or lacking in the end shows an error
(wovenbywood.com, 11 February 2025); balancing them right and left keeps a shaft from rising askew
(doubleweaver.com, "A Little About Heddles").
"""

from collections.abc import Iterable

from companion.job.step_builder import in_groups
from companion.job.steps import Danger, Noun, Stage, StageName, Step
from companion.loom.dressing import Dressing


def move_heddles_stage(dressing: Dressing) -> Stage:
    """Return a step for every move from one shaft to another, each counted by itself."""
    moves = ([Step(amount=move.number, content=move)] for move in dressing.moves)
    return _stage("move-heddles", moves, dressing, "step")


def heddles_stage(dressing: Dressing) -> Stage:
    """Return a step for every shaft of the loom, each counted by itself."""
    rows = ([Step(amount=row.needed)] for row in dressing.heddles)
    return _stage("heddles", rows, dressing, "shaft")


def _stage(name: StageName, groups: Iterable[list[Step]], dressing: Dressing, item: Noun) -> Stage:
    return Stage(name, "heddle", *in_groups(groups), dressing, item=item, danger=Danger.LIFTING)
