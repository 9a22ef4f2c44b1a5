"""What makes each stage that is no pass over the warp."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from companion.job.beam import beam_stage
from companion.job.first_picks import first_picks_stage
from companion.job.heddles import heddles_stage, move_heddles_stage
from companion.job.knot import knot_stage
from companion.job.raddle import raddle_stage
from companion.job.steps import Stage, StageName
from companion.job.tie_on import tie_on_stage
from companion.job.tie_up import peg_stage, tie_up_stage
from companion.job.weaving import weave_stage
from companion.job.wind import wind_sections_stage, wind_stage
from companion.loom.dressing import Dressing


def _warp(dressing: Dressing, number: int) -> Dressing:
    """Return one warp of two, or the only one."""
    return dressing.warps[number - 1] if dressing.warps else dressing


MAKERS: Final[dict[StageName, Callable[[Dressing], Stage]]] = {
    "wind": lambda dressing: wind_stage(_warp(dressing, 1)),
    "raddle": lambda dressing: raddle_stage(_warp(dressing, 1)),
    "beam": lambda dressing: beam_stage(_warp(dressing, 1)),
    "knot": knot_stage,
    "move-heddles": move_heddles_stage,
    "wind-sections": wind_sections_stage,
    "wind-second": lambda dressing: replace(wind_stage(_warp(dressing, 2)), name="wind-second"),
    "raddle-second": lambda d: replace(raddle_stage(_warp(d, 2)), name="raddle-second"),
    "beam-second": lambda dressing: replace(beam_stage(_warp(dressing, 2)), name="beam-second"),
    "heddles": heddles_stage,
    "tie-on-rear": lambda dressing: tie_on_stage(dressing, "tie-on-rear"),
    "tie-on": lambda dressing: tie_on_stage(dressing, "tie-on"),
    "tie-up": tie_up_stage,
    "peg": peg_stage,
    "first-picks": first_picks_stage,
    "weave": weave_stage,
}
