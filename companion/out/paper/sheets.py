"""All the sheets of a plan, in the order in which the loom is dressed."""

from dataclasses import replace
from typing import Final

from companion.job import Danger, StageName
from companion.loom.dressing import Dressing
from companion.out.paper.first_sheets import dangers_of, first_sheet, warp_sheet, winding_sheets
from companion.out.paper.loom_sheets import (
    heddles_sheet,
    raddle_sheet,
    tie_up_sheet,
    treadling_sheet,
)
from companion.out.paper.sheet import Sheet, SheetName
from companion.out.paper.warp_sheets import sleying_sheet, threading_sheet
from companion.wording.cautions import DANGERS

_MOMENTS: Final[dict[SheetName, StageName]] = {
    "winding": "wind",
    "winding of the second warp": "wind-second",
    "sections of the beam": "wind-sections",
    "raddle": "raddle",
    "raddle for the second warp": "raddle-second",
    "heddles": "heddles",
    "tie-up": "tie-up",
    "lift plan": "first-picks",
    "treadling": "first-picks",
}
"""The stage whose dangers belong to a sheet."""


def sheets(dressing: Dressing) -> tuple[Sheet, ...]:
    """Return the sheets that the plan has something for; front to back the reed comes first."""
    warp = [heddles_sheet(dressing), threading_sheet(dressing)]
    is_reed_first = dressing.method == "front-to-back"
    warp.insert(0 if is_reed_first else len(warp), sleying_sheet(dressing))
    dangers = dangers_of(dressing)
    first = [first_sheet(dangers), warp_sheet(dressing), *winding_sheets(dressing)]
    found = [
        *first,
        *(() if dressing.sections else map(raddle_sheet, dressing.warps or (dressing,))),
        *warp,
        tie_up_sheet(dressing),
        treadling_sheet(dressing),
    ]
    return tuple(_with_care(sheet, dangers) for sheet in found if sheet is not None)


def _with_care(sheet: Sheet, dangers: dict[StageName, Danger]) -> Sheet:
    moment = _MOMENTS.get(sheet.name)
    if moment is None or moment not in dangers:
        return sheet
    return replace(sheet, cautions=(DANGERS[dangers[moment]],))
