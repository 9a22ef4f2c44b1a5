"""Parts inside parts with their repeats: measured first, written out only when the length is known.

A plan can ask for a million times a million ends in two short lines, so nothing here is as long as
what it stands for until `written` is called.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain
from typing import Generic, NamedTuple, TypeVar

T = TypeVar("T")


class Stretch(NamedTuple, Generic[T]):
    """Things in order, some of them again and again."""

    leaf: tuple[T, ...]
    """One pass, where there are no inner stretches."""
    inner: tuple[Stretch[T], ...]
    times: int
    length: int
    """Things in one pass."""
    name: str = ""
    colour: str = ""


def stretch_of(
    leaf: Iterable[T], times: int = 1, *, name: str = "", colour: str = ""
) -> Stretch[T]:
    """Return a stretch of things themselves."""
    things = tuple(leaf)
    return Stretch(things, (), times, len(things), name, colour)


def stretch_around(
    inner: Iterable[Stretch[T]], times: int = 1, *, name: str = "", colour: str = ""
) -> Stretch[T]:
    """Return a stretch of smaller stretches."""
    stretches = tuple(inner)
    return Stretch((), stretches, times, total(stretches), name, colour)


def total(stretches: Iterable[Stretch[T]]) -> int:
    """Return how many things the stretches come to, every pass counted."""
    return sum(stretch.length * stretch.times for stretch in stretches)


def written(stretches: Iterable[Stretch[T]]) -> tuple[T, ...]:
    """Return every thing in order; the caller has looked at `total` before."""
    return tuple(chain.from_iterable(one_pass(each) * each.times for each in stretches))


def one_pass(stretch: Stretch[T]) -> tuple[T, ...]:
    """Return the things of one pass in order."""
    return written(stretch.inner) if stretch.inner else stretch.leaf
