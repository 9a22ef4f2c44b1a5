"""What the weaver can hold a ruler to while she sleys: every inch, the centre and the last dent.

Counting ends and dents at every mark of a ruler finds a slip within the inch it was made in
(blossommerz.blogspot.com, "Sanity checks during sleying", February 2012).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from companion.job.contents import Note, RulerMark
from companion.plan.draft.ends import CM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.job.steps import Step
    from companion.loom.dressing import Dressing, Region

_METRIC_MARK: Final = Fraction(5, 2)
"""Centimetres from one mark to the next, where the plan is metric; else it is an inch."""


def with_milestones(dressing: Dressing, steps: Iterable[Step]) -> Iterator[Step]:
    """Yield the steps of the sleying, those that reach a milestone with a note of it."""
    mark = _METRIC_MARK if dressing.units == "metric" else Fraction(1)
    dents, per = _dents_over(dressing, mark).as_integer_ratio()
    marks, ends = 0, 0
    for step in steps:
        ends = step.last_end or ends
        passed = step.dents[-1] * per // dents
        notes: list[Note | RulerMark | Region] = list(_centre_or_last(dressing, step))
        if passed > marks:
            notes.insert(0, RulerMark(ends, step.number, passed * mark))
        marks = passed
        yield step._replace(notes=tuple(notes)) if notes else step


def with_regions(dressing: Dressing, steps: Iterable[Step]) -> Iterator[Step]:
    """Yield the steps, the last of every region with a note of the region that comes next."""
    coming = {before.last_end: after for before, after in pairwise(dressing.sley.regions)}
    for step in steps:
        ends = range(step.first_end, step.last_end + 1)
        following = [coming[end] for end in ends if end in coming]
        yield step._replace(notes=(*step.notes, *following)) if following else step


def _dents_over(dressing: Dressing, mark: Fraction) -> Fraction:
    if dressing.units == "metric":
        return dressing.dents_per_inch * mark / CM_PER_INCH
    return dressing.dents_per_inch


def _centre_or_last(dressing: Dressing, step: Step) -> Iterator[Note]:
    dents = len(dressing.sley.counts)
    beyond = 2 * step.dents[-1] - dents
    if 0 <= beyond < 2 * (step.empty_dents + 1):
        yield Note.CENTRE_DENT
    if step.dents[-1] == dents:
        yield Note.LAST_DENT
