"""All the sheets of a plan, in the order in which the loom is dressed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.out.paper.first_sheets import first_sheet, warp_sheet, winding_sheet
from companion.out.paper.loom_sheets import (
    heddles_sheet,
    raddle_sheet,
    tie_up_sheet,
    treadling_sheet,
)
from companion.out.paper.warp_sheets import sleying_sheet, threading_sheet

if TYPE_CHECKING:
    from companion.loom.dressing import Dressing
    from companion.out.paper.sheet import Sheet


def sheets(dressing: Dressing) -> tuple[Sheet, ...]:
    """Return the sheets that the plan has something for; front to back the reed comes first."""
    warp = [heddles_sheet(dressing), threading_sheet(dressing)]
    is_reed_first = dressing.method == "front-to-back"
    warp.insert(0 if is_reed_first else len(warp), sleying_sheet(dressing))
    first = [first_sheet(dressing), warp_sheet(dressing), winding_sheet(dressing)]
    found = [
        *first,
        raddle_sheet(dressing),
        *warp,
        tie_up_sheet(dressing),
        treadling_sheet(dressing),
    ]
    return tuple(sheet for sheet in found if sheet is not None)
