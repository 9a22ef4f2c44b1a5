"""What the tests of the printed sheets share: the demo plans, and how to read a line back."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from companion.loom.compute import compute
from companion.loom.threading_order import as_threaded
from companion.plan.file.reader import read_plan

if TYPE_CHECKING:
    from collections.abc import Iterable

    from companion.loom.dressing import Dressing
    from companion.out.paper.sheet import Sheet, SheetName

PLANS = sorted((Path(__file__).parent.parent / "plans").glob("*.toml"))
NAMES = [path.stem for path in PLANS]


@cache
def demo(name: str) -> Dressing:
    """Return a demo plan as computed."""
    return compute(read_plan(next(path for path in PLANS if path.stem == name)))


def sheet_of(sheets: Iterable[Sheet], name: SheetName) -> Sheet:
    """Return the one sheet with this name."""
    (found,) = (sheet for sheet in sheets if sheet.name == name)
    return found


SENTENCES = re.compile(
    r",?(leave\s+(\S+\s+heddles?\s+)?free|back\s+to|each\s+end\s+now)"
    r"[^.]*?(\.|(?<=\w)4)(?=\s|$)",
    re.IGNORECASE,
)
"""What to do before an end; in braille a full stop is the cell of 4."""


def numbers(text: str) -> list[int]:
    """Return the numbers of a line's content, sentences and headings such as "dark blue:" left
    out."""
    text = SENTENCES.sub(" ", text)
    return [int(number) for number in re.findall(r"\d+", re.sub(r"beam \d+:|[^\d()]+:", " ", text))]


def bracketed(text: str) -> list[int]:
    """Return which of the numbers are in brackets, by place from 0."""
    found, place, is_inside = [], 0, False
    for mark in re.findall(r"\d+|[()]", SENTENCES.sub(" ", text)):
        if mark in "()":
            is_inside = mark == "("
        else:
            if is_inside:
                found.append(place)
            place += 1
    return found


def shafts_of(dressing: Dressing) -> list[int]:
    """Return the shaft of every end in the order of threading."""
    return [end.shaft for end in as_threaded(dressing).ends]


def doubled_of(dressing: Dressing) -> list[int]:
    """Return the ends, by place from 0, that share their heddle with a neighbour."""
    places = [end.place for end in as_threaded(dressing).ends]
    return [at for at, place in enumerate(places) if places.count(place) > 1]


def dents_of(dressing: Dressing) -> list[int]:
    """Return the ends of every dent used, up to the last that holds any."""
    counts = list(dressing.sley.counts)
    while counts[-1] == 0:
        counts.pop()
    return counts
