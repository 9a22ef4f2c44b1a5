"""The stages of the whole job, their order, and which of them a plan cannot have."""

from enum import StrEnum
from typing import Literal

from companion.base.uncollected import uncollected
from companion.job.passes import PassName, pass_over_warp
from companion.job.steps import Stage, StageName
from companion.loom.dressing import Dressing


def stages(dressing: Dressing) -> tuple[PassName | Literal["knot"], ...]:
    """Return the passes over the warp that the plan asks for, in order."""
    if dressing.is_knotted:
        return ("knot",)
    if dressing.passes == "together":
        return ("thread-and-sley",)
    if dressing.method == "front-to-back":
        return ("sley", "thread")
    return ("thread", "sley")


def whole_job(dressing: Dressing) -> tuple[StageName, ...]:
    """Return every stage of the dressing that the plan can have, in the order of its method.

    The order from the front is that of the course at vermontweavingsupplies.com, and from the back
    that of the tutorial at tygartlakefiberarts.com/wp/?page_id=83.
    """
    missing = left_out(dressing)
    return tuple(name for name in in_order(dressing) if name not in missing and name != "weave")


class LeftOut(StrEnum):
    """Why a stage of the plan's method is left out."""

    NO_RADDLE = "no-raddle"
    LIFT_PLAN = "lift-plan"
    """The plan lifts shafts directly, without treadles to tie."""
    NO_TIE_UP = "no-tie-up"
    LEVERS = "levers"
    """Each shaft of a table loom has its own lever."""
    NO_LIFTS = "no-lifts"
    """Nothing says what a dobby is to lift."""
    NO_SUCH_TIES = "no-such-ties"
    """No ties make the plan's sheds on this loom."""


def left_out(dressing: Dressing) -> dict[StageName, LeftOut]:
    """Return the stages of the plan's method that it cannot have, and why."""
    missing: dict[StageName, LeftOut] = {}
    is_spread = dressing.method == "back-to-front" and dressing.sections is None
    if dressing.raddle is None and is_spread:
        missing |= dict.fromkeys(("raddle", "raddle-second"), LeftOut.NO_RADDLE)
    if dressing.loom_kind == "dobby":
        if not dressing.draft.lifts:
            missing["peg"] = LeftOut.NO_LIFTS
    elif dressing.loom_kind == "table":
        missing["tie-up"] = LeftOut.LEVERS
    elif dressing.tie_up is None:
        missing["tie-up"] = LeftOut.LIFT_PLAN if dressing.draft.lifts else LeftOut.NO_TIE_UP
    elif dressing.tie_up.way == "none":
        missing["tie-up"] = LeftOut.NO_SUCH_TIES
    return missing


def in_order(dressing: Dressing) -> tuple[StageName, ...]:
    """Return every stage of the plan's method in order, those too that the plan cannot have."""
    passes = stages(dressing)
    heddles: tuple[StageName, ...] = () if dressing.is_knotted else ("heddles",)
    if heddles and dressing.moves:
        heddles = ("move-heddles", *heddles)
    if dressing.method == "front-to-back":
        # Heddles are made ready before the reed stands in their way.
        middle: tuple[StageName, ...] = (*heddles, *passes, "tie-on-rear", "beam")
    else:
        second: tuple[StageName, ...] = ("raddle-second", "beam-second") if dressing.warps else ()
        middle = ("raddle", "beam", *second, *heddles, *passes)
    last: StageName = "peg" if dressing.loom_kind == "dobby" else "tie-up"
    if dressing.sections is not None:
        return ("wind-sections", *heddles, *passes, "tie-on", last, "first-picks")
    wound: tuple[StageName, ...] = ("wind", "wind-second") if dressing.warps else ("wind",)
    return (*wound, *middle, "tie-on", last, "first-picks", "weave")


def threading_of(walked: Stage) -> Stage:
    """Return the stage in which shafts can be felt: the threading, where the walk is past it."""
    dressing = walked.dressing.whole or walked.dressing
    if dressing.is_knotted:  # the heddles hold what they held before
        return stage(dressing, "thread")
    threading = next(name for name in stages(dressing) if name != "sley")
    order = in_order(dressing)
    after_it = order[order.index(threading) + 1 :]
    is_past = walked.name in after_it and not walked.has_shafts
    return stage(dressing, threading) if is_past else walked


@uncollected()
def stage(dressing: Dressing, name: StageName) -> Stage:
    """Return the steps of any one stage, asked for or not, but none that is left out."""
    if name in ("thread-and-sley", "thread", "sley"):
        return pass_over_warp(dressing, name)
    from companion.job.makers import MAKERS  # noqa: PLC0415 - most walks are passes over the warp

    return MAKERS[name](dressing)
