"""The stages of the whole job, their order, and which of them a plan cannot have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.sequence.passes import pass_over_warp
from companion.sequence.raddle import raddle_stage

if TYPE_CHECKING:
    from companion.dressing.dressing import Dressing
    from companion.sequence.passes import PassName
    from companion.sequence.steps import Stage, StageName


def stages(dressing: Dressing) -> tuple[PassName, ...]:
    """Return the passes over the warp that the plan asks for, in order."""
    if dressing.passes == "together":
        return ("thread-and-sley",)
    if dressing.method == "front-to-back":
        return ("sley", "thread")
    return ("thread", "sley")


def whole_job(dressing: Dressing) -> tuple[StageName, ...]:
    """Return every stage that the plan can have, in the order of its method."""
    missing = left_out(dressing)
    return tuple(name for name in _in_order(dressing) if name not in missing)


def left_out(dressing: Dressing) -> dict[StageName, str]:
    """Return why stages of the plan's method are left out, each as a sentence."""
    missing: dict[StageName, str] = {}
    if dressing.raddle is None and dressing.method == "back-to-front":
        missing["raddle"] = "The plan has no raddle, so the spreading in it is left out."
    return missing


def _in_order(dressing: Dressing) -> tuple[StageName, ...]:
    return ("raddle", *stages(dressing))


def stage(dressing: Dressing, name: StageName, chunk: int = 1) -> Stage:
    """Return the steps of one stage.

    Args:
        dressing: what to walk through.
        name: any stage, whether or not the plan asks for it, so long as it is not left out.
        chunk: ends threaded in one step, 1 or more. A step never crosses a group or a change of
            colour, and doubled ends are a step of their own. When sleying, a step is a dent.
    """
    if name in ("thread-and-sley", "thread", "sley"):
        return pass_over_warp(dressing, name, chunk)
    if name == "raddle" and dressing.raddle is not None:
        return raddle_stage(dressing, dressing.raddle)
    raise ValueError(f"expected a stage of this plan, not {name}")
