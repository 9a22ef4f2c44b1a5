"""From the shafts as the weaver feels them, with the counts beside, to the likely slips."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import product, zip_longest

from companion.diagnosis.align import SLACK, WIDE_SLACK, Diagonals, Move, Path, Point, paths
from companion.diagnosis.moves import ThreadingMoves
from companion.diagnosis.planned import Planned
from companion.diagnosis.slips import Diagnosis, Observed, Slip, SlipKind, Span

_MOST_CHOICES = 6
"""Slips of one explanation whose heddle the spare heddles may decide; more are left open."""


def felt_diagnoses(planned: Planned, report: Observed) -> list[Diagnosis]:
    """Return the explanations of the felt shafts and the spare heddles, likeliest first."""
    felt = report.felt or ()
    diagonals = Diagonals(planned.shafts, felt)
    goal = Point(len(planned.shafts), len(felt))
    moves = ThreadingMoves(planned, felt)
    slack = SLACK if report.spare is None else WIDE_SLACK
    found = paths(diagonals, goal, moves, is_whole=report.is_felt_whole, slack=slack)
    slips = [_with_places(path, planned, diagonals) for path in found]
    if report.spare is None:
        return _different(Diagnosis(each) for each in slips)
    settled = (_settled(each, report.spare, planned) for each in slips)
    return _different(diagnosis for each in settled for diagnosis in each)


def _different(diagnoses: Iterable[Diagnosis]) -> list[Diagnosis]:
    """Return explanations that mean different things on the loom, the first of each.

    All of them lead to the shafts that were felt; which of two like units is called the one left
    out makes no difference to anything the weaver sees or does.
    """
    different: dict[object, Diagnosis] = {}
    for diagnosis in diagnoses:
        kinds = sorted((slip.kind, slip.is_heddle_there) for slip in diagnosis.slips)
        meaning = (tuple(kinds), frozenset(_spare_change(diagnosis.slips).items()))
        different.setdefault(meaning, diagnosis)
    return list(different.values())


def _with_places(path: Path, planned: Planned, diagonals: Diagonals) -> tuple[Slip, ...]:
    """Return the slips of a path, each with every place where it would feel the same."""
    slips = []
    since = 0
    size = len(planned.shafts)
    for move, after in zip_longest(path.moves, path.moves[1:]):
        until = after.start.planned if after else size
        window = _window(move, since, until, diagonals)
        slips.append(move.slip(*_same_places(move, window, planned)))
        since = move.end.planned
    return tuple(slips)


def _window(move: Move, since: int, until: int, diagonals: Diagonals) -> tuple[int, int]:
    """Return the first and last place, from 0, where a move might as well begin.

    It may begin earlier as long as what follows it still agrees, and later as long as what goes
    before it does, between the moves before and after it (`since`, `until`).
    """
    width = move.end.planned - move.start.planned
    earliest = max(since, diagonals.agree_since(move.end) - width)
    agreed = diagonals.next(move.end).planned
    return earliest, min(diagonals.next(move.start).planned, min(until, agreed) - width)


def _same_places(move: Move, window: tuple[int, int], planned: Planned) -> Iterator[Span]:
    """Yield every place in the window where the same slip would give the same shafts."""
    first, last = (place + planned.first for place in window)
    if move.kind in {SlipKind.UNIT_SKIPPED, SlipKind.UNIT_ADDED}:
        shafts, is_added = move.planned or move.found, move.kind is SlipKind.UNIT_ADDED
        alike = (unit for unit in planned.units if planned.of(unit) == shafts)
        spans = (Span(unit.last + 1, unit.last) if is_added else unit for unit in alike)
        yield from (span for span in spans if first <= span.first <= last)
    elif move.kind is SlipKind.MISSED_END:
        yield from (Span(end, end) for end in range(first, last + 1))
    else:
        yield move.span


def _settled(
    slips: tuple[Slip, ...], spare: Mapping[int, int], planned: Planned
) -> Iterator[Diagnosis]:
    """Yield the readings of one explanation that fit the spare heddles.

    Whether a missed end's heddle was left, and whether an end beside its like has a heddle of its
    own, cannot be felt; the spare heddles tell. What they still lack are skipped heddles.
    """
    wanted = Counter({shaft: number for shaft, number in spare.items() if number})
    readings = [_readings(slip, planned) for slip in slips[:_MOST_CHOICES]]
    readings += [(slip,) for slip in slips[_MOST_CHOICES:]]
    for reading in product(*readings):
        left = wanted.copy()
        left.subtract(_spare_change(reading))
        if not +left:  # none is over that no slip explains
            skipped = (skipped_heddle(shaft, planned) for shaft in sorted((-left).elements()))
            yield Diagnosis((*reading, *skipped))


def _spare_change(slips: Iterable[Slip]) -> Counter[int]:
    change: Counter[int] = Counter()
    for slip in slips:
        change.update(slip.spare_change)
    return change


def _readings(slip: Slip, planned: Planned) -> tuple[Slip, ...]:
    if slip.kind is not SlipKind.MISSED_END:
        return (slip,)
    with_heddle = replace(slip, is_heddle_there=True)
    # An end planned to share a heddle leaves that heddle in use when it is missed.
    return (with_heddle,) if slip.first in planned.shared else (slip, with_heddle)


def skipped_heddle(shaft: int, planned: Planned) -> Slip:
    """Return a heddle of a shaft left empty somewhere among the ends."""
    whole = Span(planned.first, planned.last)
    return Slip(SlipKind.SKIPPED_HEDDLE, whole.first, whole.last, shaft=shaft, places=(whole,))
