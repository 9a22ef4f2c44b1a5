"""Numbering the steps and groups of a stage that words its own steps."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from companion.job.steps import Step, StepGroup

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.loom.dressing import End


class Told(NamedTuple):
    """A step that is not told by its ends, shafts and dents."""

    words: str
    amount: int = 1
    """What it adds to the count of its group; 0 where there is nothing to count."""
    note: str = ""
    first_end: int = 0
    """The first end it handles; 0 where it handles none."""
    last_end: int = 0
    colour: str = ""
    """Of its ends, where it is worth a word."""


class ToldGroup(NamedTuple):
    """Steps that are checked together, and why a count of them may be wrong."""

    name: str
    steps: Sequence[Told]
    too_few: str = ""
    too_many: str = ""


def numbered(groups: Iterable[ToldGroup]) -> tuple[tuple[Step, ...], tuple[StepGroup, ...]]:
    """Return steps and groups, both numbered from 1 on."""
    steps: list[Step] = []
    made: list[StepGroup] = []
    for number, group in enumerate(groups, start=1):
        first = len(steps) + 1
        for told in group.steps:
            steps.append(_step(told, steps, number))
        expected = sum(told.amount for told in group.steps)
        made.append(
            StepGroup(
                number, group.name, first, len(steps), expected, group.too_few, group.too_many
            )
        )
    return tuple(steps), tuple(made)


def _step(told: Told, before: Sequence[Step], group: int) -> Step:
    last_colour = before[-1].colour if before else ""
    return Step(
        number=len(before) + 1,
        first_end=told.first_end,
        last_end=told.last_end,
        shafts=(),
        dents=(),
        empty_dents=0,
        colour=told.colour,
        is_new_colour=told.colour not in ("", last_colour),
        group=group,
        unit=-1,
        amount=told.amount,
        told=told.words,
        note=told.note,
    )


def colours_of(ends: Sequence[End]) -> str:
    """Return the colours of neighbouring ends, "black and white" where there are several."""
    if len(ends) == 1:
        return ends[0].colour
    return " and ".join(dict.fromkeys(end.colour for end in ends if end.colour))


def number_of(count: int, noun: str) -> str:
    """Return a count with its noun, "1 end" or "2 ends"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def span(noun: str, first: int, last: int) -> str:
    """Return a run of numbered things, "end 1", "ends 1 and 2" or "ends 1 to 4"."""
    if first == last:
        return f"{noun} {first}"
    return f"{noun}s {first} {'and' if last == first + 1 else 'to'} {last}"


def in_stretches(first: int, last: int, most: int) -> list[tuple[int, int]]:
    """Return the numbers from first to last as runs of nearly equal length, at most `most`."""
    size = last - first + 1
    runs = -(-size // most)
    edges = [first + size * run // runs for run in range(runs + 1)]
    return [(edges[run], edges[run + 1] - 1) for run in range(runs)]
