"""The least slips that turn one sequence into another, likeliest first.

The edits are insertion, deletion, substitution (R. A. Wagner and M. J. Fischer, "The
String-to-String Correction Problem", Journal of the ACM 21, 1974) and the crossing of neighbours
(F. J. Damerau, "A Technique for Computer Detection and Correction of Spelling Errors",
Communications of the ACM 7, 1964), with moves of whole units beside them. Rather than filling the
whole table, the search follows diagonals: where the sequences agree it slides to the next
difference at no cost, and only there does it branch (E. Ukkonen, "Algorithms for Approximate
String Matching", Information and Control 64, 1985). So the work grows with the length times the
number of slips, not with the square of the length. (Titles and years from memory.)
"""

import heapq
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from itertools import count
from operator import ne
from typing import NamedTuple

from companion.diagnosis.slips import COSTS, Slip, SlipKind, Span

SLACK = 4
"""Tenths of a slip by which an explanation may be less likely than the likeliest and be told."""
WIDE_SLACK = 12
"""The same before the spare heddles have had their say: room for one slip more."""
MOST_COST = 60
"""More than about six slips at once are not a diagnosis."""
MOST_STEPS = 4000
"""Branchings after which the search gives up; a bound on time, not on right answers."""
MOST_PATHS = 40
"""Explanations gathered at most."""
_MOST_VISITS = 4
"""Ways to come to one point of the table that are followed up."""
_LEAST_COST = min(COSTS.values())


class Point(NamedTuple):
    """A point of the table: so much of the plan against so much of what was found."""

    planned: int
    found: int


class Move(NamedTuple):
    """What may have gone wrong: where it leaves the diagonal, and where it comes back."""

    start: Point
    end: Point
    kind: SlipKind
    first: int
    """The number of the first planned end (or dent) concerned."""
    planned: tuple[int, ...]
    found: tuple[int, ...]

    @property
    def span(self) -> Span:
        """The planned ends (or dents) concerned."""
        return Span(self.first, self.first + len(self.planned) - 1)

    def slip(self, *places: Span) -> Slip:
        """Return the slip, with every place where it fits as well."""
        return Slip(self.kind, *self.span, self.planned, self.found, places=places)


Moves = Callable[[Point, int], Iterator[Move]]
"""Yields the slips possible at a difference as moves that start there, or before it on its
diagonal, and none before the place in the plan since which the two have agreed."""


class Diagonals:
    """Where two sequences differ, diagonal by diagonal, each looked at once when needed."""

    def __init__(self, planned: Sequence[int], found: Sequence[int]) -> None:
        self._planned = planned
        self._found = found
        self._differences: dict[int, list[int]] = {}

    def _on(self, shift: int) -> list[int]:
        """Places in the plan that differ from the found place `shift` further on."""
        if shift not in self._differences:
            low = max(0, -shift)
            high = min(len(self._planned), len(self._found) - shift)
            pairs = map(ne, self._planned[low:high], self._found[low + shift : high + shift])
            self._differences[shift] = [place for place, differ in enumerate(pairs, low) if differ]
        return self._differences[shift]

    def next(self, point: Point) -> Point:
        """Return the first difference at or after a point, or where either sequence ends."""
        shift = point.found - point.planned
        places = self._on(shift)
        index = bisect_left(places, point.planned)
        end = min(len(self._planned), len(self._found) - shift)
        place = places[index] if index < len(places) else max(end, point.planned)
        return Point(place, place + shift)

    def agree_since(self, point: Point) -> int:
        """Return the place in the plan since which the point's diagonal has agreed."""
        shift = point.found - point.planned
        places = self._on(shift)
        index = bisect_left(places, point.planned)
        return places[index - 1] + 1 if index else max(0, -shift)


class Path(NamedTuple):
    """Moves that explain everything, in order."""

    cost: int
    moves: tuple[Move, ...]


def paths(
    diagonals: Diagonals, goal: Point, moves: Moves, *, is_whole: bool = True, slack: int = SLACK
) -> list[Path]:
    """Return the explanations of least cost, likeliest first; none where it takes too many.

    Args:
        diagonals: the two sequences.
        goal: their lengths.
        moves: the slips that are possible.
        is_whole: whether what was found goes to the end; else any place in the plan will do.
        slack: how much more than the likeliest an explanation may cost.
    """
    order = count()
    first = diagonals.next(Point(0, 0))
    queue: list[tuple[int, int, Point, int, tuple[Move, ...]]] = [(0, next(order), first, 0, ())]
    visits: dict[Point, int] = {}
    results: list[Path] = []
    limit = MOST_COST
    for _ in range(MOST_STEPS):
        if not queue:
            break
        cost, _, point, since, path = heapq.heappop(queue)
        if point == goal or (not is_whole and point.found == goal.found):
            results.append(Path(cost, path))
            limit = min(limit, cost + slack)
            if len(results) == MOST_PATHS:
                break
            continue
        visits[point] = visits.get(point, 0) + 1
        if visits[point] > _MOST_VISITS or cost + _LEAST_COST > limit:
            continue
        for move in moves(point, since):
            total = cost + COSTS[move.kind]
            if total <= limit:
                landing = diagonals.next(move.end)
                entry = (total, next(order), landing, move.end.planned, (*path, move))
                heapq.heappush(queue, entry)
    return results
