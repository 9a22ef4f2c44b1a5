"""Numbering the steps and groups of a stage whose steps are not threaded or sleyed."""

from collections.abc import Iterable, Sequence

from companion.job.steps import Danger, Noun, Stage, StageName, Step, StepGroup
from companion.loom.dressing import Dressing, End, GroupName


def made_stage(
    name: StageName,
    counted: Noun,
    dressing: Dressing,
    groups: Iterable[Sequence[Step]],
    *,
    item: Noun = "end",
    danger: Danger | None = None,
    only_warns: bool = False,
    unit_names: tuple[str, ...] = (),
) -> Stage:
    """Return a stage of these groups of steps, numbered from 1 on."""
    steps, numbered = in_groups(groups)
    return Stage(
        name,
        counted,
        steps,
        numbered,
        dressing,
        unit_names,
        item=item,
        danger=danger,
        only_warns=only_warns,
    )


def in_groups(groups: Iterable[Sequence[Step]]) -> tuple[tuple[Step, ...], tuple[StepGroup, ...]]:
    """Return steps and groups, both numbered from 1 on."""
    steps: list[Step] = []
    made: list[StepGroup] = []
    for number, group in enumerate(groups, start=1):
        first = len(steps) + 1
        for each in group:
            known = ("", steps[-1].colour if steps else "")
            is_new = each.colour not in known
            steps.append(each._replace(number=len(steps) + 1, group=number, is_new_colour=is_new))
        expected = sum(each.amount for each in group)
        made.append(StepGroup(number, GroupName(), first, len(steps), expected))
    return tuple(steps), tuple(made)


def colours_of(ends: Sequence[End]) -> str:
    """Return the colours of neighbouring ends, "black and white" where there are several."""
    if len(ends) == 1:
        return ends[0].colour
    return " and ".join(dict.fromkeys(end.colour for end in ends if end.colour))


def in_stretches(first: int, last: int, most: int) -> list[tuple[int, int]]:
    """Return the numbers from first to last as runs of nearly equal length, at most `most`."""
    size = last - first + 1
    runs = -(-size // most)
    edges = [first + size * run // runs for run in range(runs + 1)]
    return [(edges[run], edges[run + 1] - 1) for run in range(runs)]
