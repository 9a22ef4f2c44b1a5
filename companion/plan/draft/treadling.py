"""Reading the tie-up and the treadling."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.plan.draft.expand import units_of
from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.threading.notation_reader import too_long
from companion.plan.values import MAX_ENDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.plan.draft.draft import Unit
    from companion.plan.fault import Path
    from companion.plan.schema import Lifts, Picks, TieUp
    from companion.plan.threading.notation_reader import NotationReader

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


def read_treadling(parts: Sequence[Picks], reader: NotationReader) -> Written:
    """Return for each pick the treadles pressed together; the reader keeps what is wrong."""
    return _read(parts, "treadling", reader)


def read_lifts(parts: Sequence[Lifts], reader: NotationReader) -> Written:
    """Return for each pick the shafts raised together; the reader keeps what is wrong."""
    return _read(parts, "lifts", reader)


def _read(parts: Sequence[Picks | Lifts], table: str, reader: NotationReader) -> Written:
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
