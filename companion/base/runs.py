"""Equal things in a row, and stretches of a row that come again."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import prod
from typing import TypeVar

T = TypeVar("T")

LONGEST_TURN = 24
"""The most runs in a turn that is told as a repeat."""


def run_lengths(row: Iterable[T]) -> list[tuple[T, int]]:
    """Return each run of equal things as the thing and how many there are, in order."""
    return [(thing, sum(1 for _ in run)) for thing, run in groupby(row)]


def repeat_from(row: Sequence[object], at: int, longest: int) -> tuple[int, int]:
    """Return the stretch from a place on that covers most by standing there again and again.

    As its size, at most `longest`, and how often it stands there; the shortest of equals, and a
    single thing once where none comes again.
    """
    sizes = range(1, min(longest, (len(row) - at) // 2) + 1)
    again = ((size, times) for size in sizes if (times := _times(row, at, size)) > 1)
    return max(again, key=prod, default=(1, 1))


def in_turns(row: Sequence[T], longest: int) -> Iterator[tuple[Sequence[T], int]]:
    """Yield stretches of a row in order, each with how often it stands there."""
    at = 0
    while at < len(row):
        size, times = repeat_from(row, at, longest)
        yield row[at : at + size], times
        at += size * times


def told_in_turns(names: Iterable[str]) -> Iterator[str]:
    """Yield runs of names in order, "36 white", a turn that comes again told once."""
    told = [
        (", ".join(f"{number} {name}" for name, number in turn), times)
        for turn, times in in_turns(run_lengths(names), LONGEST_TURN)
    ]
    for number, (turn, times) in enumerate(told, start=1):
        end = "" if number == len(told) else ","
        yield f"{times} times ({turn}){end}" if times > 1 else f"{turn}{end}"


def _times(row: Sequence[object], at: int, size: int) -> int:
    stretch, times = row[at : at + size], 1
    while row[at + times * size : at + (times + 1) * size] == stretch:
        times += 1
    return times
