"""Stripes of a warp, and whether a hand can know them by their width alone."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from companion.base.runs import run_lengths

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing


def has_unequal_stripes(dressing: Dressing) -> bool:
    """Return whether some colour has stripes of several widths, those at the edges left out.

    Such a warp tells no place by counting stripes, so the order of colours at the cross is worth
    telling group by group: common practice, no source. Two warps have a cross each, so there it
    would tell nothing.
    """
    if dressing.warps:
        return False
    stripes = run_lengths(end.colour for end in dressing.ends)
    widths: defaultdict[str, set[int]] = defaultdict(set)
    for colour, width in stripes[1:-1]:
        widths[colour].add(width)
    return any(len(each) > 1 for each in widths.values())
