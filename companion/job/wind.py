"""Winding the warp: colour by colour on pegs, or section by section onto a divided beam.

On pegs each tie of the counting cross ends a group. A section is set up, counted and wound; its
ends are kept in their order by tying or taping them before they are cut: common practice, no
source.
"""

from collections.abc import Iterator
from itertools import accumulate, pairwise

from companion.base.text import listed
from companion.job.contents import Section
from companion.job.step_builder import colours_of, in_groups
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing
from companion.loom.winding import AlikeRounds, counting_groups


def wind_stage(dressing: Dressing) -> Stage:
    """Return the winding, with a step for all alike rounds in a row of a group."""
    rounds = ([_step(wound) for wound in group] for group in counting_groups(dressing))
    return Stage("wind", "end", *in_groups(rounds), dressing, danger=Danger.WARP_LOOPS)


def _step(wound: AlikeRounds) -> Step:
    colour = listed(wound.colours)
    return Step(0, wound.first, wound.last, amount=wound.ends, colour=colour, content=wound)


def wind_sections_stage(dressing: Dressing) -> Stage:
    """Return two steps for every section: its ends in their order, then its turns."""
    groups = in_groups(_sections(dressing))
    return Stage("wind-sections", "end", *groups, dressing, item="step", danger=Danger.SECTIONS)


def _sections(dressing: Dressing) -> Iterator[list[Step]]:
    plan = dressing.sections
    if plan is None:
        raise ValueError("expected a plan with a beam in sections")
    edges = pairwise(accumulate(plan.counts, initial=0))
    for number, (before, last) in enumerate(edges, start=1):
        colour = colours_of(dressing.ends[before:last])
        ends = Section(number, before + 1, last, 0)
        yield [
            Step(0, before + 1, last, amount=last - before, colour=colour, content=ends),
            Step(amount=0, content=ends._replace(turns=plan.turns)),
        ]
