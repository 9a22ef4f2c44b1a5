"""What is said where the warp is wound straight onto a divided beam."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted
from companion.wording.warp_facts import colours_in_order

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.job.contents import Section
    from companion.loom.dressing import Dressing


def sections_opening(dressing: Dressing, *, is_brief: bool) -> Iterator[str]:
    """Yield what to set up, where to begin, and how each section ends."""
    plan = dressing.sections
    if plan is None:
        return
    sections, turns = counted(len(plan.counts), "section"), counted(plan.turns, "turn")
    yield f"{sections}, each of {turns}; set up {max(plan.counts)} spools at most."
    if plan.empty_before:
        empty = counted(plan.empty_before, "section")
        yield f"Leave {empty} empty at the {dressing.first_end} edge."
    if not is_brief:
        yield (
            f"Begin at the {dressing.first_end} edge, seen from the front of the loom, with end 1 "
            "outermost. Give every section the same number of turns at the same tension."
        )


def section_told(section: Section, dressing: Dressing) -> str:
    """Return what to do with a section: its ends in their order, or its turns."""
    if section.turns:
        turns = counted(section.turns, "turn")
        return f"wind {turns}, flat and even; tie the ends in their order, then cut them"
    ends = dressing.ends[section.first - 1 : section.last]
    held = counted(len(ends), "end")
    if not any(end.colour for end in ends):
        return held
    return f"{held}: {' '.join(colours_in_order([end.colour for end in ends]))}"
