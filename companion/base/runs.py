"""Equal things in a row, and stretches of a row that come again."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TypeVar

T = TypeVar("T")


def run_lengths(row: Iterable[T]) -> list[tuple[T, int]]:
    """Return each run of equal things as the thing and how many there are, in order."""
    return [(thing, sum(1 for _ in run)) for thing, run in groupby(row)]


def times_from(row: Sequence[object], at: int, size: int) -> int:
    """Return how often the stretch of so many things from a place on stands there in a row."""
    stretch, times = row[at : at + size], 1
    while row[at + times * size : at + (times + 1) * size] == stretch:
        times += 1
    return times
