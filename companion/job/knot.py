"""Knotting a new warp to an old one that hangs in the loom, end by end, and drawing it through.

That each new end is knotted to the old end in its place, that the knots are counted by groups, and
that they are drawn through a few at a time, first through the heddles where the new warp lies
behind them, is common practice, no source.
"""

from collections.abc import Iterator

from companion.job.contents import Knot, KnotTask
from companion.job.step_builder import in_groups
from companion.job.steps import Stage, Step
from companion.loom.dressing import Dressing


def knot_stage(dressing: Dressing) -> Stage:
    """Return a step for every knot, counted by the plan's groups, and the drawing through."""
    steps, groups = in_groups(_groups(dressing))
    named = zip(groups, dressing.groups, strict=False)
    groups = (*(group._replace(name=own.name) for group, own in named), groups[-1])
    return Stage(name="knot", counted="knot", steps=steps, groups=groups, dressing=dressing)


def _groups(dressing: Dressing) -> Iterator[list[Step]]:
    for group in dressing.groups:
        ends = dressing.ends[group.first - 1 : group.last]
        yield [
            Step(0, end.number, end.number, colour=end.colour, content=Knot(end.beam))
            for end in ends
        ]
    yield [Step(amount=0, content=task) for task in KnotTask]
