"""The colour of each pick: what the plan's weft yarns make by turns, or the draft names."""

from __future__ import annotations

from itertools import cycle, islice
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing


def weft_colours(dressing: Dressing) -> tuple[str, ...]:
    """Return the colour of each pick of the draft, "" where none is named."""
    draft = dressing.draft
    picks = len(draft.lifts or draft.picks)
    turns = weft_turns(dressing)
    if any(turns):
        return tuple(islice(cycle(turns), picks))
    return (*draft.weft[:picks], *[""] * (picks - len(draft.weft)))


def weft_turns(dressing: Dressing) -> tuple[str, ...]:
    """Return the colours of one turn of the plan's wefts, pick by pick; () where it has none."""
    needs = dressing.yarns.needs if dressing.yarns else ()
    wefts = [each for each in needs if each.use == "weft"]
    return tuple(each.colour for each in wefts for _ in range(each.share))
