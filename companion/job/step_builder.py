"""Numbering the steps and groups of a stage whose steps are not threaded or sleyed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from companion.job.steps import Danger, Noun, Stage, StageName, Step, StepGroup
from companion.loom.dressing import GroupName

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.job.contents import Content, Note
    from companion.loom.dressing import Dressing, End


class Made(NamedTuple):
    """A step before it is numbered."""

    amount: int = 1
    """What it adds to the count of its group; 0 where there is nothing to count."""
    first_end: int = 0
    """The first end it handles; 0 where it handles none."""
    last_end: int = 0
    colour: str = ""
    """Of its ends, where it is worth a word."""
    content: Content | None = None
    note: Note | None = None


def made_stage(
    name: StageName,
    counted: Noun,
    dressing: Dressing,
    groups: Iterable[Sequence[Made]],
    *,
    item: Noun = "end",
    danger: Danger | None = None,
    only_warns: bool = False,
) -> Stage:
    """Return a stage of these groups of steps, numbered from 1 on."""
    steps, numbered = in_groups(groups)
    return Stage(
        name, counted, steps, numbered, dressing, item=item, danger=danger, only_warns=only_warns
    )


def in_groups(groups: Iterable[Sequence[Made]]) -> tuple[tuple[Step, ...], tuple[StepGroup, ...]]:
    """Return steps and groups, both numbered from 1 on."""
    steps: list[Step] = []
    made: list[StepGroup] = []
    for number, group in enumerate(groups, start=1):
        first = len(steps) + 1
        for each in group:
            steps.append(_step(each, steps, number))
        expected = sum(each.amount for each in group)
        made.append(StepGroup(number, GroupName(), first, len(steps), expected))
    return tuple(steps), tuple(made)


def _step(made: Made, before: Sequence[Step], group: int) -> Step:
    last_colour = before[-1].colour if before else ""
    return Step(
        number=len(before) + 1,
        first_end=made.first_end,
        last_end=made.last_end,
        shafts=(),
        dents=(),
        empty_dents=0,
        colour=made.colour,
        is_new_colour=made.colour not in ("", last_colour),
        group=group,
        unit=-1,
        amount=made.amount,
        content=made.content,
        notes=() if made.note is None else (made.note,),
    )


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
