"""From counts alone, ends and spare heddles, to the likely slips.

Counts cannot say where, and cannot see ends in the wrong order at all. What they can say is which
slips would make just these counts: every slip has a signature (ends more or fewer, spare heddles
more or fewer on each shaft), and one or two signatures must add up to what was counted.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import NamedTuple

from companion.diagnosis.felt import skipped_heddle
from companion.diagnosis.planned import Planned
from companion.diagnosis.slips import UNKNOWN, Diagnosis, Observed, Slip, SlipKind, Span

_MOST_FALLEN_BACK = 6
"""More single slips than this are no diagnosis."""


class Signature(NamedTuple):
    """What slips change in the counts; what was not counted is left out of all of them."""

    total: int
    spare: frozenset[tuple[int, int]]
    """(shaft, change) pairs without zeros."""


def _as_counted(report: Observed, total: int, spare: Counter[int]) -> Signature:
    """Return a signature as far as the report counted."""
    pairs = frozenset((shaft, number) for shaft, number in spare.items() if number)
    return Signature(
        0 if report.total is None else total, frozenset() if report.spare is None else pairs
    )


def is_as_planned(planned: Planned, report: Observed) -> bool:
    """Say whether nothing that was counted differs from the plan."""
    is_total_right = report.total is None or report.total == len(planned.shafts)
    return is_total_right and not any((report.spare or {}).values())


def count_diagnoses(planned: Planned, report: Observed) -> list[Diagnosis]:
    """Return the explanations of counts (total, spare or both), likeliest first.

    A slip's `places` are all the places it may be at; its own place is the first of them.
    """
    total = 0 if report.total is None else report.total - len(planned.shafts)
    wanted = _as_counted(report, total, Counter(report.spare or {}))
    slips = _single_slips(planned) if report.spare is not None else _slips_by_total(planned)
    classes = _distinct(slips, report)
    few = [Diagnosis((slip,)) for slip in classes.get(wanted, ())]
    few += _pairs(classes, wanted)
    if few:
        return sorted(few, key=lambda diagnosis: diagnosis.cost)
    return _many(planned, total, report)


def _distinct(slips: Iterable[Slip], report: Observed) -> dict[Signature, list[Slip]]:
    """Gather the slips that can be counted by signature, the likeliest of each kind once."""
    classes: dict[Signature, list[Slip]] = defaultdict(list)
    kinds: set[tuple[Signature, SlipKind]] = set()
    for slip in slips:
        signature = _as_counted(report, slip.total_change, slip.spare_change)
        if signature != Signature(0, frozenset()) and (signature, slip.kind) not in kinds:
            kinds.add((signature, slip.kind))
            classes[signature].append(slip)
    return classes


def _pairs(classes: dict[Signature, list[Slip]], wanted: Signature) -> Iterator[Diagnosis]:
    ordered = list(classes)
    number = {signature: place for place, signature in enumerate(ordered)}
    for place, one in enumerate(ordered):
        other = number.get(_difference(wanted, one), -1)
        if other < place:
            continue
        for first in classes[one]:
            for second in classes[ordered[other]]:
                yield Diagnosis(tuple(sorted((first, second), key=lambda slip: slip.first)))


def _difference(whole: Signature, part: Signature) -> Signature:
    spare = Counter(dict(whole.spare))
    spare.subtract(dict(part.spare))
    pairs = frozenset((shaft, number) for shaft, number in spare.items() if number)
    return Signature(whole.total - part.total, pairs)


def _single_slips(planned: Planned) -> Iterator[Slip]:
    """Yield every single slip that counts can see, one for each signature and kind."""
    ends: dict[int, list[Span]] = defaultdict(list)
    for end, shaft in enumerate(planned.shafts, planned.first):
        ends[shaft].append(Span(end, end))
    whole = tuple(chain.from_iterable(ends.values()))
    for shaft, places in ends.items():
        yield _at(SlipKind.MISSED_END, places, (shaft,), ())
        yield _at(SlipKind.DOUBLED_END, places, (shaft,), (shaft, shaft))
        for other in planned.all_shafts:
            if other != shaft:
                yield _at(SlipKind.WRONG_SHAFT, places, (shaft,), (other,))
    for shaft in planned.all_shafts:
        gaps = tuple(Span(end, end - 1) for end in range(planned.first, planned.last + 2))
        yield _at(SlipKind.EXTRA_END, gaps, (), (shaft,))
        yield skipped_heddle(shaft, planned)
    yield from _heddle_left(sorted(whole), planned)
    yield from _unit_slips(planned)


def _slips_by_total(planned: Planned) -> Iterator[Slip]:
    """Yield every single slip that the ends' number alone can see; it cannot tell the shaft."""
    ends = [Span(end, end) for end in range(planned.first, planned.last + 1)]
    gaps = (Span(end, end - 1) for end in range(planned.first, planned.last + 2))
    if ends:
        yield _at(SlipKind.MISSED_END, ends, UNKNOWN, ())
        yield _at(SlipKind.DOUBLED_END, ends, UNKNOWN, UNKNOWN * 2)
    yield _at(SlipKind.EXTRA_END, gaps, (), UNKNOWN)
    yield from _unit_slips(planned)


def _at(
    kind: SlipKind, places: Iterable[Span], planned: tuple[int, ...], found: tuple[int, ...]
) -> Slip:
    places = tuple(places)
    return Slip(kind, places[0].first, places[0].last, planned, found, places=places)


def _heddle_left(places: list[Span], planned: Planned) -> Iterator[Slip]:
    """Yield an end missed while its heddle was passed over; the spare heddles are then right."""
    if places:
        shaft = planned.of(places[0])
        yield Slip(
            SlipKind.MISSED_END, *places[0], shaft, (), is_heddle_there=True, places=tuple(places)
        )


def _unit_slips(planned: Planned) -> Iterator[Slip]:
    alike: dict[tuple[int, ...], list[Span]] = defaultdict(list)
    for unit in planned.units:
        alike[planned.of(unit)].append(unit)
    for shafts, units in alike.items():
        if len(shafts) > 1:
            yield _at(SlipKind.UNIT_SKIPPED, units, shafts, ())
            after = (Span(unit.last + 1, unit.last) for unit in units)
            yield _at(SlipKind.UNIT_ADDED, after, (), shafts)


def _many(planned: Planned, total: int, report: Observed) -> list[Diagnosis]:
    """Return the plainest explanation where two slips are not enough, if it is short.

    Shafts with heddles left over are paired with shafts that lack them, as ends on wrong shafts;
    what remains are ends missed or added, one by one.
    """
    spare = Counter(report.spare or {})
    over = list((+spare).elements())
    under = list((-spare).elements())
    slips = {
        (slip.kind, slip.planned, slip.found): slip
        for slip in _single_slips(planned)
        if not slip.is_heddle_there  # it leaves no heddle over, so it explains none
    }
    both = min(len(over), len(under))
    keys: list[tuple[SlipKind, tuple[int, ...], tuple[int, ...]]]
    keys = [
        (SlipKind.WRONG_SHAFT, (one,), (other,)) for one, other in zip(over, under, strict=False)
    ]
    keys += [(SlipKind.MISSED_END, (shaft,), ()) for shaft in over[both:]]
    keys += [(SlipKind.EXTRA_END, (), (shaft,)) for shaft in under[both:]]
    if len(keys) > _MOST_FALLEN_BACK or any(key not in slips for key in keys):
        return []
    chosen = [slips[key] for key in keys]
    if report.total is not None:
        left = total - sum(slip.total_change for slip in chosen)
        chosen += _uncounted(planned, left, has_spare=report.spare is not None)
    return [Diagnosis(tuple(chosen))] if len(chosen) <= _MOST_FALLEN_BACK else []


def _uncounted(planned: Planned, change: int, *, has_spare: bool) -> list[Slip]:
    """Return slips that change the ends by so many and no spare heddles that were told."""
    places = [Span(end, end) for end in range(planned.first, planned.last + 1)]
    if change < 0 and places and not has_spare:
        return [_at(SlipKind.MISSED_END, places, UNKNOWN, ())] * -change
    if change < 0:
        return [slip for slip in _heddle_left(places, planned) for _ in range(-change)]
    first = planned.shafts[:1] if has_spare else UNKNOWN[: len(places)]
    return [_at(SlipKind.DOUBLED_END, places, first, first * 2) for _ in range(change)]
