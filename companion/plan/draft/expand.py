"""Writing out a threading: every repeat, block and named threading as places in order."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice
from typing import Any

from companion.base.text import printable, quoted
from companion.plan.draft.draft import Unit
from companion.plan.draft.stretch import Stretch, one_pass, stretch_around, stretch_of
from companion.plan.fault import MAX_FAULTS, Fault, Path
from companion.plan.schema import Part
from companion.plan.threading.named import find_named, nearest_names
from companion.plan.threading.notation import NotationReader

_MOST_COMPARED = 50
"""Block names looked at for the nearest."""
_LONGEST = 60


class ThreadingReader:
    """Reads the notation of the plan's blocks, as written, and parts; keeps every fault met."""

    def __init__(self, blocks: Mapping[str, str]) -> None:
        self._reader = NotationReader()
        self.faults = self._reader.faults
        self._blocks = {
            name: self._reader.numbers(ends, ("blocks", name)) for name, ends in blocks.items()
        }

    def read(self, parts: Sequence[Part], path: Path) -> tuple[Stretch[int], ...]:
        """Return a stretch for each part, one to fill taken once; it is empty at a fault."""
        return tuple(self._part(part, (*path, at)) for at, part in enumerate(parts))

    def _part(self, part: Part, path: Path) -> Stretch[int]:
        times = 1 if part.times == "fill" else part.times
        name, colour = part.name or "", part.colour or ""
        if part.parts:
            inner = self.read(part.parts, (*path, "parts"))
            return stretch_around(inner, times, name=name, colour=colour)
        if part.ends is not None:
            shafts = self._reader.numbers(part.ends, (*path, "ends"))
        elif part.block is not None:
            name, shafts = name or f"block {part.block}", self._block(part.block, (*path, "block"))
        else:
            label, shafts = self._named(part.named or "", (*path, "named"))
            name = name or label
        return stretch_of(shafts, times, name=name, colour=colour)

    def _block(self, name: str, path: Path) -> tuple[int, ...]:
        if name not in self._blocks and len(self.faults) < MAX_FAULTS:
            known = islice(self._blocks, _MOST_COMPARED)
            import difflib  # noqa: PLC0415 - only a slip needs it

            close = difflib.get_close_matches(name[:_LONGEST], known, n=1, cutoff=0.4)
            mend = f'Add {printable(name)} = "1-2-3-4", or what it is, to [blocks]'
            if close:
                mend = f"Write {quoted(close[0])} if that is meant, or add the block to [blocks]"
            fault = f"expected the name of a block in [blocks], not {quoted(name)}"
            self.faults.append(Fault(path, fault, mend))
        return self._blocks.get(name, ())

    def _named(self, name: str, path: Path) -> tuple[str, tuple[int, ...]]:
        threading = find_named(name)
        if threading is not None:
            return threading.label, threading.shafts
        if len(self.faults) >= MAX_FAULTS:
            return "", ()
        known = " or ".join(f'"{key}"' for key in nearest_names(name) or ("straight 4", "point 4"))
        fault = f"expected the name of a threading in common use, not {quoted(name)}"
        mend = f'Write {known} if that is meant, or write it out, as in ends = "1 to 4, 3 to 2"'
        self.faults.append(Fault(path, fault, mend))
        return "", ()


def units_of(stretches: Iterable[Stretch[Any]]) -> tuple[Unit, ...]:
    """Return the units of a whole threading or treadling: one for each pass of a smallest part."""
    units: list[Unit] = []
    repeat, first = 0, 1
    for stretch in stretches:
        spans = tuple(_spans(stretch, ""))
        for _ in range(stretch.times):
            repeat += 1
            for name, length in spans:
                last = first + length - 1
                units.append(Unit(name, len(units) + 1, repeat, first, last))
                first = last + 1
    return tuple(units)


def part_colours(stretches: Iterable[Stretch[int]], around: str = "") -> tuple[str, ...]:
    """Return the colour of each place; a part without one has that of the part around it."""
    return tuple(
        chain.from_iterable(_pass_colours(each, around) * each.times for each in stretches)
    )


def _pass_colours(stretch: Stretch[int], around: str) -> tuple[str, ...]:
    colour = stretch.colour or around
    if stretch.inner:
        return part_colours(stretch.inner, colour)
    return (colour,) * len(one_pass(stretch))


def _spans(stretch: Stretch[Any], around: str) -> Iterator[tuple[str, int]]:
    """Yield name and length of each unit in one pass; a bare run has the name around it."""
    name = stretch.name or around
    if not stretch.inner:
        yield name, stretch.length
    for inner in stretch.inner:
        yield from tuple(_spans(inner, name)) * inner.times
