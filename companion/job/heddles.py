"""Making the heddles ready: as many on each shaft as the warp takes, right and left of the centre.

With exact numbers set aside, a heddle left over or lacking in the end shows an error
(wovenbywood.com, 11 February 2025); balancing them right and left keeps a shaft from rising askew
(doubleweaver.com, "A Little About Heddles").
"""

from companion.job.step_builder import made_stage
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing


def move_heddles_stage(dressing: Dressing) -> Stage:
    """Return a step for every move from one shaft to another, each counted by itself."""
    return made_stage(
        "move-heddles",
        "heddle",
        dressing,
        ([Step(amount=move.number, content=move)] for move in dressing.moves),
        item="step",
        danger=Danger.LIFTING,
    )


def heddles_stage(dressing: Dressing) -> Stage:
    """Return a step for every shaft of the loom, each counted by itself."""
    return made_stage(
        "heddles",
        "heddle",
        dressing,
        ([Step(amount=row.needed)] for row in dressing.heddles),
        item="shaft",
        danger=Danger.LIFTING,
    )
