"""Reading the tie-up and the treadling."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.threading.notation_reader import too_long
from companion.plan.values import MAX_ENDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.plan.fault import Path
    from companion.plan.schema import Picks, TieUp
    from companion.plan.threading.notation_reader import NotationReader

Lists = tuple[tuple[int, ...], ...]


def read_tie_up(tie_up: TieUp, reader: NotationReader) -> Lists:
    """Return for each treadle its shafts in rising order; the reader keeps what is wrong."""
    shafts = [
        reader.numbers(text, ("tie_up", "treadles", at)) if text.strip() else ()
        for at, text in enumerate(tie_up.treadles)
    ]
    return tuple(tuple(sorted(set(tied))) for tied in shafts)


def read_treadling(parts: Sequence[Picks], reader: NotationReader) -> Lists:
    """Return for each pick the treadles pressed together; the reader keeps what is wrong."""
    stretches = _stretches(parts, ("treadling",), reader)
    if total(stretches) > MAX_ENDS:
        reader.faults.append(too_long(("treadling",), "its picks"))
        return ()
    return written(stretches)


def _stretches(
    parts: Sequence[Picks], path: Path, reader: NotationReader
) -> tuple[Stretch[tuple[int, ...]], ...]:
    return tuple(_stretch(part, (*path, at), reader) for at, part in enumerate(parts))


def _stretch(part: Picks, path: Path, reader: NotationReader) -> Stretch[tuple[int, ...]]:
    if part.picks is None:
        inner = _stretches(part.parts or (), (*path, "parts"), reader)
        return stretch_around(inner, part.times)
    return stretch_of(reader.picks(part.picks, (*path, "picks")), part.times)
