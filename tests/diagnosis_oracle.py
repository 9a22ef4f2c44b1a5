"""Every one and two slips of a small threading, made on a model of the loom by brute force.

The loom is a row of heddles, each with its shaft and the ends in it. Nothing here comes from the
code under test but the shape of its answers.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from typing import NamedTuple

from companion.diagnosis.diagnose import diagnose
from companion.diagnosis.planned import Planned
from companion.diagnosis.slips import Diagnosis, Observed, SlipKind, Span

Heddles = tuple[tuple[int, int], ...]
"""(shaft, ends in it) along the bar."""


class Made(NamedTuple):
    """A loom after some slips."""

    heddles: Heddles
    slips: tuple[tuple[str, tuple[int, ...], tuple[int, ...]], ...]
    """(kind, shafts planned, shafts found) of each."""


@dataclass(frozen=True)
class Threading:
    """A small threading to make slips in."""

    name: str
    units: tuple[tuple[int, ...], ...]
    shafts: int = 4
    shafts_in_order: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "shafts_in_order", tuple(chain.from_iterable(self.units)))

    def planned(self) -> Planned:
        """Return it as the code under test takes it."""
        spans, end = [], 0
        for unit in self.units:
            spans.append(Span(end + 1, end + len(unit)))
            end += len(unit)
        every = tuple(range(1, self.shafts + 1))
        return Planned(1, self.shafts_in_order, tuple(spans), (Span(1, end),), every)


THREADINGS = (
    Threading("straight", ((1, 2, 3, 4), (1, 2, 3, 4))),
    Threading("point", ((1, 2, 3, 4, 3, 2), (1,))),
    Threading("broken", ((1, 2, 4, 3), (1, 2, 4, 3))),
    Threading("summer and winter", ((1, 3, 2, 3), (1, 4, 2, 4))),
    Threading("undulating", ((1, 2, 3), (3, 4, 4), (1, 1))),
)
"""Common threadings; the last has neighbours on one shaft, as undulating twills do."""


def _single(threading: Threading, heddles: Heddles) -> Iterator[Made]:
    """Yield every slip of one end on a row of heddles."""
    shafts = range(1, threading.shafts + 1)
    for place, (shaft, ends) in enumerate(heddles):
        before, after = heddles[:place], heddles[place + 1 :]
        if ends != 1:
            continue
        for other in shafts:
            if other != shaft:
                yield Made((*before, (other, 1), *after), (("wrong", (shaft,), (other,)),))
        yield Made((*before, *after), (("missed", (shaft,), ()),))
        yield Made((*before, (shaft, 0), *after), (("passed over", (), ()),))
        yield Made((*before, (shaft, 2), *after), (("doubled", (), ()),))
        if after and after[0][1] == 1 and after[0][0] != shaft:
            crossed = (*before, after[0], (shaft, 1), *after[1:])
            yield Made(crossed, (("crossed", (), ()),))
    for place in range(len(heddles) + 1):
        for shaft in shafts:
            with_more = (*heddles[:place], (shaft, 1), *heddles[place:])
            yield Made(with_more, (("extra", (), (shaft,)),))
            with_empty = (*heddles[:place], (shaft, 0), *heddles[place:])
            yield Made(with_empty, (("skipped heddle", (), (shaft,)),))


def _whole_units(threading: Threading) -> Iterator[Made]:
    """Yield every slip of a whole unit of the threading as planned."""
    rows = [tuple((shaft, 1) for shaft in unit) for unit in threading.units]

    def made(units: list[Heddles], kind: str, one: Heddles, other: Heddles) -> Made:
        shafts = [tuple(shaft for shaft, _ in row) for row in (one, other)]
        return Made(tuple(chain.from_iterable(units)), ((kind, shafts[0], shafts[1]),))

    for place, row in enumerate(rows):
        before, after = rows[:place], rows[place + 1 :]
        if len(row) > 1:
            yield made([*before, *after], "unit skipped", row, ())
            yield made([*before, row, row, *after], "unit added", (), row)
        if len(row) > 2 and row != row[::-1]:
            yield made([*before, row[::-1], *after], "unit mirrored", (), ())
        if after and row + after[0] != after[0] + row:
            yield made([*before, after[0], row, *after[1:]], "units swapped", (), ())


def one_slip(threading: Threading) -> list[Made]:
    """Return the loom after every single slip."""
    as_planned = tuple((shaft, 1) for shaft in threading.shafts_in_order)
    return [*_single(threading, as_planned), *_whole_units(threading)]


def two_slips(threading: Threading) -> list[Made]:
    """Return the loom after every single slip of an end on top of every single slip."""
    return [
        Made(second.heddles, tuple(sorted((*first.slips, *second.slips))))
        for first in one_slip(threading)
        for second in _single(threading, first.heddles)
    ]


Look = Callable[[Threading, Heddles], Observed]
"""What a weaver reports of a loom."""


def _felt(heddles: Heddles) -> tuple[int, ...]:
    return tuple(chain.from_iterable((shaft,) * ends for shaft, ends in heddles))


def _spare(threading: Threading, heddles: Heddles) -> dict[int, int]:
    spare = Counter(threading.shafts_in_order)
    spare.subtract(shaft for shaft, _ in heddles)
    return {shaft: number for shaft, number in sorted(spare.items()) if number}


def by_touch(_: Threading, heddles: Heddles) -> Observed:
    """Feel every end's shaft."""
    return Observed(felt=_felt(heddles))


def by_touch_and_spares(threading: Threading, heddles: Heddles) -> Observed:
    """Feel every end's shaft and count the spare heddles."""
    return Observed(felt=_felt(heddles), spare=_spare(threading, heddles))


def by_counts(threading: Threading, heddles: Heddles) -> Observed:
    """Count ends and spare heddles."""
    return Observed(total=len(_felt(heddles)), spare=_spare(threading, heddles))


def by_total(_: Threading, heddles: Heddles) -> Observed:
    """Count the ends."""
    return Observed(total=len(_felt(heddles)))


def _key(report: Observed) -> object:
    spare = None if report.spare is None else tuple(report.spare.items())
    return report.total, spare, report.felt


def _truth(made: Made, look: Look) -> object:
    """What there is to be told of a loom: where touch helps the heddles, else the slips' sort."""
    if look in (by_touch, by_touch_and_spares):
        empty = sorted(shaft for shaft, ends in made.heddles if not ends)
        return tuple(heddle for heddle in made.heddles if heddle[1]), tuple(empty)
    if look is by_total:
        return tuple((kind, len(planned), len(found)) for kind, planned, found in made.slips)
    return made.slips


_NAMES = {
    SlipKind.WRONG_SHAFT: "wrong",
    SlipKind.REPEATED_SHAFT: "wrong",
    SlipKind.EXTRA_END: "extra",
    SlipKind.UNIT_SKIPPED: "unit skipped",
    SlipKind.UNIT_ADDED: "unit added",
}


def _told(diagnosis: Diagnosis, threading: Threading, look: Look) -> object:
    """What a diagnosis says, in the words of `_truth`."""
    if look in (by_touch, by_touch_and_spares):
        return _told_heddles(diagnosis, threading)
    slips = []
    for slip in diagnosis.slips:
        name: tuple[str, tuple[int, ...], tuple[int, ...]]
        if slip.kind is SlipKind.MISSED_END:
            name = ("passed over", (), ()) if slip.is_heddle_there else ("missed", slip.planned, ())
        elif slip.kind is SlipKind.DOUBLED_END:
            name = ("doubled", (), ())
        elif slip.kind is SlipKind.SKIPPED_HEDDLE:
            name = ("skipped heddle", (), (slip.shaft,))
        else:
            name = (_NAMES[slip.kind], slip.planned, slip.found)
        slips.append(name)
    if look is by_total:
        return tuple(sorted((name, len(one), len(other)) for name, one, other in slips))
    return tuple(sorted(slips))


def _told_heddles(diagnosis: Diagnosis, threading: Threading) -> object:
    row: list[tuple[int, int]] = []
    empty: list[int] = []
    place = 0
    planned = threading.shafts_in_order
    for slip in sorted(diagnosis.slips, key=lambda slip: (slip.first, slip.last)):
        if slip.kind is SlipKind.SKIPPED_HEDDLE:
            empty.append(slip.shaft)
            continue
        row += [(shaft, 1) for shaft in planned[place : slip.first - 1]]
        if slip.kind is SlipKind.DOUBLED_END:
            row.append((slip.found[0], 2))
        else:
            row += [(shaft, 1) for shaft in slip.found]
        empty += slip.planned if slip.is_heddle_there else ()
        place = slip.last
    row += [(shaft, 1) for shaft in planned[place:]]
    return tuple(row), tuple(sorted(empty))


class Score(NamedTuple):
    """How a way of looking fared on one threading."""

    cases: int
    """Slips made."""
    tellable: int
    """Those whose report no other explanation of as few or fewer slips would give as well."""
    first: int
    """Tellable ones that stand first in the answer."""
    told: int
    """Tellable ones that stand anywhere in the answer."""
    all_told: int
    """Cases, tellable or not, whose truth stands anywhere in the answer."""


def score(threading: Threading, made: list[Made], look: Look, fewer: list[Made]) -> Score:
    """Return how often the truth is told, of cases that fewer slips would not have made as well.

    Args:
        threading: as planned.
        made: the cases.
        look: what the weaver reports.
        fewer: looms after fewer slips than the cases; they explain a report as well or better.
    """
    as_planned = Made(tuple((shaft, 1) for shaft in threading.shafts_in_order), ())
    explanations: dict[object, set[object]] = defaultdict(set)
    for loom in (as_planned, *fewer, *made):
        report = look(threading, loom.heddles)
        explanations[_key(report)].add(_truth(loom, look))
    simpler = {loom.heddles for loom in (as_planned, *fewer)}
    made = [loom for loom in made if loom.heddles not in simpler]
    answers: dict[object, list[object]] = {}
    tellable = first = told = all_told = 0
    for loom in made:
        report = look(threading, loom.heddles)
        key, truth = _key(report), _truth(loom, look)
        if key not in answers:
            found = diagnose(threading.planned(), report).diagnoses
            answers[key] = [_told(each, threading, look) for each in found]
        all_told += truth in answers[key]
        if explanations[key] == {truth}:
            tellable += 1
            first += answers[key][:1] == [truth]
            told += truth in answers[key]
    return Score(len(made), tellable, first, told, all_told)
