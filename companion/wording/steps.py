"""The wording of steps: ends, shafts and dents."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from companion.job.step_builder import number_of, span

__all__ = [
    "describe",
    "number_counted",
    "number_of",
    "read_step",
    "sentence",
    "span",
    "step_call",
]

if TYPE_CHECKING:
    from companion.guide.messages import ReadStep, StepCall
    from companion.guide.terms import Counted
    from companion.job import Step


def number_counted(count: int, counted: Counted) -> str:
    """Return a count with its noun, which is given in the plural."""
    return number_of(count, counted[:-1])


def sentence(text: str) -> str:
    """Return text with a capital at its start and a full stop at its end."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def step_call(message: StepCall) -> str:
    """Return the callout of the present step."""
    step, opening = message.step, []
    if message.unit:
        opening.append(sentence(f"{message.unit}, unit {message.unit_number}"))
    if message.colour:
        opening.append(sentence(message.colour))
    if step.empty_dents:
        opening.append(f"Leave {number_of(step.empty_dents, 'dent')} empty.")
    told = sentence(describe(step, message.counted))
    return " ".join([*opening, told, *([step.note] if step.note else [])])


def read_step(message: ReadStep) -> str:
    """Return one step of a read-back."""
    step = message.step
    opening = [sentence(message.colour)] if message.colour else []
    if step.empty_dents:
        opening.append(f"{sentence(number_of(step.empty_dents, 'dent') + ' empty')}")
    return " ".join([*opening, sentence(describe(step, message.counted))])


def describe(step: Step, counted: Counted) -> str:
    """Return a step in the words of its stage, "end 37: shaft 1, dent 37"."""
    if step.told:
        return step.told
    if step.is_floating:
        return f"floating selvedge: {_dents(step.dents)}, in the reed alone"
    shafts = _shafts(step.shafts[:1] if step.is_doubled else step.shafts)
    if counted == "dents":
        return f"{_dents(step.dents)}: {_ends(step)}" + (f", {shafts}" if shafts else "")
    parts = [part for part in (shafts, _dents(step.dents)) if part]
    doubled = " together in one heddle" if step.is_doubled else ""
    return f"{_ends(step)}{doubled}: {', '.join(parts)}"


def _ends(step: Step) -> str:
    return span("end", step.first_end, step.last_end)


def _shafts(shafts: tuple[int, ...]) -> str:
    listed = ", ".join(map(str, shafts))
    if not listed:
        return ""
    return f"shaft {listed}" if len(shafts) == 1 else f"shafts {listed}"


def _dents(dents: tuple[int, ...]) -> str:
    """Return the dents of successive ends, as a run where each holds one end."""
    if not dents:
        return ""
    if len(set(dents)) == 1 or dents == tuple(range(dents[0], dents[-1] + 1)):
        return span("dent", dents[0], dents[-1])
    held = ((dent, len(list(ends))) for dent, ends in groupby(dents))
    return ", ".join(f"{ends} in dent {dent}" for dent, ends in held)
