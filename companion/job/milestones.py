"""What the weaver can hold a ruler to while she sleys: every inch, the centre and the last dent.

Counting ends and dents at every mark of a ruler finds a slip within the inch it was made in
(blossommerz.blogspot.com, "Sanity checks during sleying", February 2012).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from companion.job.step_builder import number_of
from companion.plan.draft.ends import CM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.job.steps import Step
    from companion.loom.dressing import Dressing

_METRIC_MARK: Final = Fraction(5, 2)
"""Centimetres from one mark to the next, where the plan is metric; else it is an inch."""


def with_milestones(dressing: Dressing, steps: Iterable[Step]) -> Iterator[Step]:
    """Yield the steps of the sleying, those that reach a milestone with a note of it."""
    dents, per = _dents_a_mark(dressing).as_integer_ratio()
    marks, ends = 0, 0
    for step in steps:
        ends = step.last_end or ends
        passed = step.dents[-1] * per // dents
        told = [_mark(dressing, passed, ends, step.number)] if passed > marks else []
        told += _centre_or_last(dressing, step)
        marks = passed
        yield step._replace(note=" ".join(told)) if told else step


def _dents_a_mark(dressing: Dressing) -> Fraction:
    if dressing.units == "metric":
        return dressing.dents_per_inch * _METRIC_MARK / CM_PER_INCH
    return dressing.dents_per_inch


def _mark(dressing: Dressing, marks: int, ends: int, filled: int) -> str:
    held = f"{number_of(ends, 'end')} in {number_of(filled, 'dent')}"
    return f"This makes {held}, over {_length(dressing, marks)} of reed."


def _length(dressing: Dressing, marks: int) -> str:
    """Return how far from dent 1 a mark is, in words that can be spoken."""
    if dressing.units == "inch":
        return "1 inch" if marks == 1 else f"{marks} inches"
    whole, rest = divmod(marks * _METRIC_MARK, 1)
    return f"{whole}{' and a half' if rest else ''} centimetres"


def _centre_or_last(dressing: Dressing, step: Step) -> Iterator[str]:
    dents = len(dressing.sley.counts)
    beyond = 2 * step.dents[-1] - dents
    if 0 <= beyond < 2 * (step.empty_dents + 1):
        yield f"It is half of the {dents} dents: the centre of the warp."
    if step.dents[-1] == dents:
        yield f"It is the last of {dents} dents: {dressing.sley.empty_after} stay empty after it."
