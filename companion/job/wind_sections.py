"""Winding the warp straight onto a divided beam: each section set up, counted and wound.

The ends are kept in their order by tying or taping them before they are cut: common practice, no
source.
"""

from __future__ import annotations

from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from companion.job.contents import Section
from companion.job.step_builder import Made, colours_of, made_stage
from companion.job.steps import Danger, Stage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing


def wind_sections_stage(dressing: Dressing) -> Stage:
    """Return two steps for every section: its ends in their order, then its turns."""
    return made_stage(
        "wind-sections", "end", dressing, _groups(dressing), item="step", danger=Danger.SECTIONS
    )


def _groups(dressing: Dressing) -> Iterator[list[Made]]:
    plan = dressing.sections
    if plan is None:
        raise ValueError("expected a plan with a beam in sections")
    edges = pairwise(accumulate(plan.counts, initial=0))
    for number, (before, last) in enumerate(edges, start=1):
        colour = colours_of(dressing.ends[before:last])
        ends = Section(number, before + 1, last, 0)
        yield [
            Made(last - before, before + 1, last, colour, ends),
            Made(amount=0, content=ends._replace(turns=plan.turns)),
        ]
