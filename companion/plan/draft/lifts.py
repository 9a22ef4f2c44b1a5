"""Tie-up, treadling and lift plan as read, and which shafts are lifted by them in each pick."""

from collections.abc import Sequence
from dataclasses import replace

from companion.plan.draft.draft import Draft, Unit
from companion.plan.draft.expand import units_of
from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.fault import Path
from companion.plan.schema import Lifts, Picks, TieUp
from companion.plan.threading.notation import NotationReader, too_long
from companion.plan.values import MAX_ENDS

Shafts = frozenset[int]


def tied_shafts(
    treadles: Sequence[tuple[int, ...]], picks: Sequence[tuple[int, ...]]
) -> tuple[Shafts, ...]:
    """Return for each pick the shafts tied to any of its treadles, all of which exist."""
    nothing: Shafts = frozenset()
    tied = {
        pick: nothing.union(*(treadles[treadle - 1] for treadle in pick)) for pick in set(picks)
    }
    return tuple(map(tied.__getitem__, picks))


def as_lifts(draft: Draft) -> Draft:
    """Return a draft with a lift plan in place of its treadles, for a loom that has none to tie."""
    if draft.lifts or not draft.picks:
        return replace(draft, treadles=(), picks=())
    lifts = tuple(tuple(sorted(lift)) for lift in lifted_shafts(draft))
    return replace(draft, treadles=(), picks=(), lifts=lifts)


def lifted_shafts(draft: Draft) -> tuple[Shafts, ...]:
    """Return for each pick which of the shafts threaded stand above the shuttle.

    A lift plan is taken as it stands, where there is one. In a sinking shed the tied shafts go
    down, so the others are the upper ones.
    """
    threaded = frozenset(draft.shafts)
    if draft.lifts:
        lifted = {lift: threaded.intersection(lift) for lift in set(draft.lifts)}
        return tuple(map(lifted.__getitem__, draft.lifts))
    moved = tied_shafts(draft.treadles, draft.picks)
    lifted_by = threaded.intersection if draft.is_rising_shed else threaded.difference
    return tuple(lifted_by(shafts) for shafts in moved)


Lists = tuple[tuple[int, ...], ...]
Written = tuple[Lists, tuple["Unit", ...]]
"""What each pick moves, and the units the picks are written in."""


def read_tie_up(tie_up: TieUp, reader: NotationReader) -> Lists:
    """Return for each treadle its shafts in rising order; the reader keeps what is wrong."""
    shafts = [
        reader.numbers(text, ("tie_up", "treadles", at)) if text.strip() else ()
        for at, text in enumerate(tie_up.treadles)
    ]
    return tuple(tuple(sorted(set(tied))) for tied in shafts)


def read_picks(parts: Sequence[Picks | Lifts], table: str, reader: NotationReader) -> Written:
    """Return for each pick the treadles pressed, or the shafts raised, together.

    The parts are those of the plan's table; the reader keeps what is wrong.
    """
    stretches = _stretches(parts, (table,), reader)
    if total(stretches) > MAX_ENDS:
        reader.faults.append(too_long((table,), "its picks"))
        return (), ()
    return written(stretches), units_of(stretches)


def _stretches(
    parts: Sequence[Picks | Lifts], path: Path, reader: NotationReader
) -> tuple[Stretch[tuple[int, ...]], ...]:
    return tuple(_stretch(part, (*path, at), reader) for at, part in enumerate(parts))


def _stretch(part: Picks | Lifts, path: Path, reader: NotationReader) -> Stretch[tuple[int, ...]]:
    key = "shafts" if "shafts" in type(part).model_fields else "picks"
    text: str | None = getattr(part, key)
    if text is None:
        inner = _stretches(part.parts or (), (*path, "parts"), reader)
        return stretch_around(inner, part.times, name=part.name or "")
    return stretch_of(reader.picks(text, (*path, key)), part.times, name=part.name or "")
