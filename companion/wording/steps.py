"""The wording of steps, alone and as callouts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted
from companion.wording.callouts import parts, told

if TYPE_CHECKING:
    from companion.guide.messages import StepCall
    from companion.job import Stage, Step
    from companion.wording.voice import Style


def step_call(message: StepCall, _style: Style) -> str:
    """Return the callout of the steps in hand, or of steps read back."""
    ends = sum(step.ends for step in message.steps)
    taken = "the next end" if ends == 1 else f"the next {counted(ends, 'end')}"
    cross = f"Take {taken} from the cross. " if message.is_from_cross else ""
    return cross + told(
        message.steps,
        message.stage,
        message.detail,
        named=message.named,
        dent_before=message.dent_before if message.detail == "short" else 0,
    )


def describe(step: Step, stage: Stage) -> str:
    """Return a step in the words of its stage, "end 37: shaft 1, dent 37"."""
    return str(parts([step], stage))
