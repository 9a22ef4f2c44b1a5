"""The slips of threading as moves through the table of plan against felt shafts."""

from bisect import bisect_right
from collections.abc import Iterator

from companion.diagnosis.align import Move, Point
from companion.diagnosis.planned import Planned
from companion.diagnosis.slips import SlipKind, Span

_PAIR = 2
_LEAST_MIRRORED = 3
"""A mirrored pair is a crossed pair."""
_LEAST_PAIRS = 4


class FeltMoves:
    """Slips as moves through the table of what was planned against what is felt, in order.

    `first` is the number of the first end, or dent, that was planned.
    """

    def __init__(self, first: int, planned: tuple[int, ...], felt: tuple[int, ...]) -> None:
        self._first = first
        self._planned = planned
        self._felt = felt

    def _move(self, kind: SlipKind, start: Point, planned: int, found: int) -> Move:
        """Return a move over so many planned ends or dents and so many felt ones."""
        end = Point(start.planned + planned, start.found + found)
        first = self._first + start.planned
        was = self._planned[start.planned : end.planned]
        return Move(start, end, kind, first, was, self._felt[start.found : end.found])


class ThreadingMoves(FeltMoves):
    """Slips of single ends at a difference, and of whole units and groups around it."""

    def __init__(self, plan: Planned, felt: tuple[int, ...]) -> None:
        super().__init__(plan.first, plan.shafts, felt)
        self._plan = plan
        self._unit_starts = [span.first - plan.first for span in plan.units]
        self._group_starts = [span.first - plan.first for span in plan.groups]

    def __call__(self, difference: Point, since: int) -> Iterator[Move]:
        """Yield every slip that may explain the difference."""
        yield from self._single(difference, since)
        yield from self._units(difference, since)

    def _single(self, at: Point, since: int) -> Iterator[Move]:
        """Yield one end wrong, missed, added or doubled, and two ends crossed."""
        shafts = self._planned[at.planned : at.planned + _PAIR]
        felt = self._felt[at.found : at.found + _PAIR]
        if shafts and felt:
            yield self._move(self._wrong(at), at, 1, 1)
        if shafts:
            yield self._move(SlipKind.MISSED_END, at, 1, 0)
        if felt:
            yield self._move(SlipKind.EXTRA_END, at, 0, 1)
            yield from self._doubled(at, since)
        if len({*shafts}) == _PAIR and shafts == felt[::-1]:
            yield self._move(SlipKind.TRANSPOSED, at, _PAIR, _PAIR)

    def _wrong(self, at: Point) -> SlipKind:
        """A wrong shaft that is the neighbour's own makes two ends weave as one."""
        beside = (at.planned - 1, at.planned + 1)
        near = {self._planned[place] for place in beside if 0 <= place < len(self._planned)}
        return SlipKind.REPEATED_SHAFT if self._felt[at.found] in near else SlipKind.WRONG_SHAFT

    def _doubled(self, at: Point, since: int) -> Iterator[Move]:
        """Yield a second end in the heddle before, where the shaft felt is that heddle's."""
        before = at.planned - 1
        if before >= since and self._felt[at.found] == self._planned[before]:
            end, pair = self._first + before, (self._planned[before],)
            after = Point(at.planned, at.found + 1)
            yield Move(at, after, SlipKind.DOUBLED_END, end, pair, pair * 2)

    def _units(self, at: Point, since: int) -> Iterator[Move]:
        """Yield slips of the units around the difference, and of the group it is in."""
        units, groups = self._plan.units, self._plan.groups
        index = bisect_right(self._unit_starts, at.planned) - 1
        if units and at.planned == len(self._planned):
            yield from self._added(units[-1], at)
        for number in range(min(index, len(units) - 1), max(-1, index - 2), -1):
            start = self._start(units[number], at)
            if start.planned >= since:
                yield from self._unit(number, start)
        group = bisect_right(self._group_starts, at.planned) - 1
        if group >= 0 and (start := self._start(groups[group], at)).planned >= since:
            yield from self._reordered(groups[group], start)

    def _start(self, span: Span, at: Point) -> Point:
        """Return where a span begins on the diagonal of a point."""
        place = span.first - self._first
        return Point(place, place + at.found - at.planned)

    def _unit(self, number: int, start: Point) -> Iterator[Move]:
        units = self._plan.units
        unit, shafts = units[number], self._plan.of(units[number])
        if len(shafts) > 1:
            yield self._move(SlipKind.UNIT_SKIPPED, start, len(shafts), 0)
            yield from self._reordered(unit, start)
        if number:
            yield from self._added(units[number - 1], start)
        if number + 1 < len(units):
            after = self._plan.of(units[number + 1])
            if self._is_felt(start, after + shafts) and after + shafts != shafts + after:
                yield self._move(SlipKind.UNITS_SWAPPED, start, *[len(shafts) + len(after)] * 2)

    def _added(self, unit: Span, start: Point) -> Iterator[Move]:
        shafts = self._plan.of(unit)
        if len(shafts) > 1 and self._is_felt(start, shafts):
            yield self._move(SlipKind.UNIT_ADDED, start, 0, len(shafts))

    def _reordered(self, span: Span, start: Point) -> Iterator[Move]:
        """Yield a span threaded the wrong way round, or with every pair in it crossed."""
        shafts = self._plan.of(span)
        size = len(shafts)
        if size >= _LEAST_MIRRORED and self._is_felt(start, shafts[::-1]):
            yield self._move(SlipKind.UNIT_MIRRORED, start, size, size)
        if size >= _LEAST_PAIRS and size % 2 == 0:
            crossed = tuple(shafts[place ^ 1] for place in range(size))
            if self._is_felt(start, crossed):
                yield self._move(SlipKind.PAIRS_SWAPPED, start, size, size)

    def _is_felt(self, start: Point, shafts: tuple[int, ...]) -> bool:
        return self._felt[start.found : start.found + len(shafts)] == shafts
