"""The wording of steps: ends, shafts and dents."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.job.step_builder import number_of, span
from companion.wording.callouts import phrase, sentence, told

__all__ = [
    "describe",
    "number_counted",
    "number_of",
    "sentence",
    "span",
    "step_call",
]

if TYPE_CHECKING:
    from companion.guide.messages import StepCall
    from companion.guide.terms import Counted
    from companion.job import Step


def number_counted(count: int, counted: Counted) -> str:
    """Return a count with its noun, which is given in the plural."""
    return number_of(count, counted[:-1])


def step_call(message: StepCall) -> str:
    """Return the callout of the steps in hand, or of steps read back."""
    return told(
        message.steps,
        message.detail,
        named=message.named,
        is_sleying=message.counted == "dents",
        dent_before=message.dent_before if message.detail == "short" else 0,
    )


def describe(step: Step, counted: Counted) -> str:
    """Return a step in the words of its stage, "end 37: shaft 1, dent 37"."""
    return phrase(step, is_sleying=counted == "dents")
