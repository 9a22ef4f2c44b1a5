"""What is said of regions of the reed that are crammed or spaced."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import capital, counted, span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from companion.loom.dressing import Dressing, Region


def in_dents(pattern: Sequence[int]) -> str:
    """Return an order in the reed in words, "4 ends in each dent"."""
    if len(set(pattern)) == 1:
        return f"{counted(pattern[0], 'end')} in each dent"
    return f"{', '.join(map(str, pattern))} ends in the dents, over and over"


def region_line(region: Region) -> str:
    """Return a region as a printed line, "Ends 25 to 36: 4 ends in each dent, dents 13 to 15."."""
    ends = capital(span("end", region.first_end, region.last_end))
    dents = span("dent", region.first_dent, region.last_dent)
    return f"{ends}: {in_dents(region.pattern)}, {dents}."


def next_region(region: Region) -> str:
    """Return what is said at the end of a region of the one that comes next."""
    return f"Then {_what(region)}."


def first_region(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what is said of regions before the first dent."""
    if dressing.sley.regions and is_whole:
        yield "The ends lie closer in some dents than in others, and each change is told."
    if dressing.sley.regions:
        yield f"First {_what(dressing.sley.regions[0])}."


def _what(region: Region) -> str:
    ends = counted(region.last_end - region.first_end + 1, "end")
    return f"{in_dents(region.pattern)}, for {ends}"
