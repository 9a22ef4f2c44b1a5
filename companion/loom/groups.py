"""Where the weaver stops to check: ends gathered by repeat, block, width or number.

Boundaries fall on the edges of repeats and units wherever they can, since an error that shifts
everything after it shows only there, and never between two ends that share a heddle.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import accumulate, groupby, pairwise
from typing import NamedTuple

from companion.loom.dressing import Group, GroupName, NumberSpan, Sley
from companion.loom.sley import dents_needed, made_sett
from companion.loom.spread import space_of_each
from companion.plan.draft.draft import Unit
from companion.plan.file.reader import Plan
from companion.yarn.counts import CM_PER_INCH

MOST_ENDS = 24
"""Ends that a group of the default size holds at most; our own choice."""


class _Piece(NamedTuple):
    """Neighbouring places that no boundary divides; pieces cover the threading in order."""

    last: int
    """Its last place."""
    units: tuple[int, int] = (0, 0)
    """Its first and last unit, by running number."""
    batch: int = 0
    """Only pieces of one batch share a group."""
    part: tuple[int, int] = (0, 0)
    """Which of how many parts of a unit this is."""


_Run = list[_Piece]
"""The pieces of one group."""


def groups(plan: Plan, sley: Sley) -> tuple[Group, ...]:
    """Return the groups in order, covering every end once; the plan has passed the check.

    Without a size, a group by repeat or block holds at most `MOST_ENDS` ends: as many whole
    repeats or units as fit. A longer repeat is divided between its units, and a longer unit into
    equal parts. By ends, a group holds one end less than asked where the heddle at its boundary
    holds two.
    """
    upto = [0, *accumulate(plan.ends_by_place)]
    edge, found = 0, []
    for number, (run, name) in enumerate(_named_runs(plan, sley, upto), start=1):
        found.append(Group(number, name, upto[edge] + 1, upto[run[-1].last]))
        edge = run[-1].last
    return tuple(found)


def available(plan: Plan) -> int:
    """Return how many repeats, blocks, inches, centimetres or ends there are to group."""
    by, units = plan.file.groups.by, plan.draft.units
    if by == "repeat":
        return len({unit.repeat for unit in units})
    if by == "block":
        return len(units)
    if by == "ends":
        return plan.ends
    dents = dents_needed(plan) - 2 * plan.file.selvedges.floating
    return -int(-dents // _dents_in(plan, 1))


def _named_runs(plan: Plan, sley: Sley, upto: list[int]) -> Iterator[tuple[_Run, GroupName]]:
    by, size = plan.file.groups.by, plan.file.groups.size
    if by == "ends":
        places = [_Piece(place) for place in range(1, len(upto))]
        return ((run, GroupName()) for run in _filled(places, upto, size or MOST_ENDS))
    if by in ("inch", "cm"):
        return _by_width(plan, sley, upto)
    pieces = _whole_pieces(plan) if size else _small_pieces(plan, upto)
    starts = range(0, len(pieces), size or 1)
    runs = (pieces[at : at + size] for at in starts) if size else _filled(pieces, upto, MOST_ENDS)
    return ((run, _name(plan.draft.units, run)) for run in runs)


def _whole_pieces(plan: Plan) -> list[_Piece]:
    """Return one piece for each repeat, or for each unit when grouped by block."""
    if plan.file.groups.by == "block":
        return [_piece([unit]) for unit in plan.draft.units]
    return [_piece(units) for units in _repeats(plan.draft.units)]


def _small_pieces(plan: Plan, upto: list[int]) -> list[_Piece]:
    """Return pieces of at most `MOST_ENDS`: whole repeats or units, or parts of a long unit."""
    if plan.file.groups.by == "block":
        return [piece for unit in plan.draft.units for piece in _parts(unit, upto, batch=0)]
    found: list[_Piece] = []
    for units in _repeats(plan.draft.units):
        if upto[units[-1].last] - upto[units[0].first - 1] <= MOST_ENDS:
            found.append(_piece(units))
        else:
            number = units[0].repeat
            found += [piece for unit in units for piece in _parts(unit, upto, batch=number)]
    return found


def _parts(unit: Unit, upto: list[int], batch: int) -> list[_Piece]:
    """Return a unit whole where it is short enough, else in equal parts, each a batch alone."""
    edges = _edges(unit, upto)
    number = len(edges) - 1
    if number == 1:
        return [_piece([unit], batch)]
    return [
        _Piece(last, (unit.number, unit.number), -last, (part, number))
        for part, last in enumerate(edges[1:], start=1)
    ]


def _edges(unit: Unit, upto: list[int]) -> list[int]:
    """Return the place before the unit and the last place of each of its parts."""
    before = unit.first - 1
    number = -(-(upto[unit.last] - upto[before]) // MOST_ENDS)
    while True:
        edges = [before + (unit.last - before) * part // number for part in range(number + 1)]
        if all(upto[last] - upto[first] <= MOST_ENDS for first, last in pairwise(edges)):
            return edges
        number += 1  # doubled ends made one part too long


def _piece(units: Sequence[Unit], batch: int = 0) -> _Piece:
    return _Piece(units[-1].last, (units[0].number, units[-1].number), batch)


def _repeats(units: Iterable[Unit]) -> list[list[Unit]]:
    return [list(members) for _, members in groupby(units, key=lambda unit: unit.repeat)]


def _filled(pieces: list[_Piece], upto: list[int], limit: int) -> Iterator[_Run]:
    """Yield runs of as many pieces as stay within `limit` ends, and one piece at least."""
    run: _Run = []
    edge = 0
    for piece in pieces:
        if run and (piece.batch != run[-1].batch or upto[piece.last] - upto[edge] > limit):
            yield run
            edge, run = run[-1].last, []
        run.append(piece)
    if run:
        yield run


def _name(units: Sequence[Unit], run: _Run) -> GroupName:
    """Return such as "pattern 3", "block A, pattern 2" or "units 5 to 8, patterns 2 to 3"."""
    first, last = units[run[0].units[0] - 1], units[run[-1].units[1] - 1]
    pattern = NumberSpan("pattern", first.repeat, last.repeat)
    starts = first.number == 1 or units[first.number - 2].repeat != first.repeat
    is_whole = starts and (last.number == len(units) or units[last.number].repeat != last.repeat)
    own = first.name if first.number == last.number else ""
    if own or is_whole:
        return GroupName(own, (pattern,), *run[0].part)
    return GroupName("", (NumberSpan("unit", first.number, last.number), pattern), *run[0].part)


def _dents_in(plan: Plan, size: int) -> Fraction:
    """Return the dents in so many inches or centimetres, as the plan groups."""
    per_inch = plan.file.reed.gauge
    return size * (per_inch if plan.file.groups.by == "inch" else per_inch / CM_PER_INCH)


def _by_width(plan: Plan, sley: Sley, upto: list[int]) -> Iterator[tuple[_Run, GroupName]]:
    """Yield groups by the dent of each place's first end, from the first end's edge."""
    is_inch = plan.file.groups.by == "inch"
    ends_across = made_sett(plan) * (1 if is_inch else 1 / CM_PER_INCH)
    size = plan.file.groups.size or max(1, int(MOST_ENDS / ends_across))
    dents, across = _dents_in(plan, size).as_integer_ratio()
    stretch = [dent * across // dents for dent in space_of_each(sley.body, first=0)]
    places = (_Piece(place) for place in range(1, len(upto)))
    word = "inch" if is_inch else "centimetre"
    for index, run in groupby(places, key=lambda piece: stretch[upto[piece.last - 1]]):
        first, last = index * size + 1, (index + 1) * size
        yield list(run), GroupName(stretches=(NumberSpan(word, first, last),))
