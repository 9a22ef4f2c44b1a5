"""Tying the warp on in bouts of about an inch, from the centre outward by turns.

Each bout is divided in two around the rod (fiberartisan.blogspot.com, 9 August 2015), and one way
is to begin in the middle and go to both sides by turns (sandrarude.blogspot.com, 30 March 2009).
Weavers write of half an inch to an inch; the inch, and even numbers so that both halves are alike,
are common practice, no source.
"""

from fractions import Fraction
from itertools import pairwise
from typing import Literal, NamedTuple

Place = Literal["centre", "near", "far"]


class Bout(NamedTuple):
    """Ends that are tied on together."""

    first: int
    """The first end."""
    last: int
    """The last end, inclusive."""
    place: Place
    """Where it lies: at the centre, on the first end's side of it, or on the other side."""
    rank: int
    """How many bouts it lies from the centre; 0 at the centre itself."""

    @property
    def ends(self) -> int:
        """How many ends it holds."""
        return self.last - self.first + 1


def bouts(ends: int, width: Fraction, *, is_near_first: bool) -> tuple[Bout, ...]:
    """Return the bouts of 1 end or more over a width in inches, in the order of tying on.

    All but one hold an even number of ends; an odd end goes into the bout at the far edge. Of two
    as far from the centre, `is_near_first` tells which comes first.
    """
    pairs = ends // 2
    number = max(1, min(round(width), pairs))
    edges = [2 * (pairs * bout // number) for bout in range(number)] + [ends]
    found = [
        Bout(first + 1, last, *_spot(at, number))
        for at, (first, last) in enumerate(pairwise(edges))
    ]
    return tuple(
        sorted(found, key=lambda bout: (bout.rank, (bout.place == "near") != is_near_first))
    )


def _spot(bout: int, number: int) -> tuple[Place, int]:
    """Return where a bout lies, counted from 0 at the first end's edge."""
    middle, is_odd = divmod(number, 2)
    if is_odd and bout == middle:
        return "centre", 0
    if bout < middle:
        return "near", middle - bout
    return "far", bout - middle + 1 - is_odd
