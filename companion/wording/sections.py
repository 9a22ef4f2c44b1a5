"""What is said where the warp is wound straight onto a divided beam."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted, sentence
from companion.wording.warp_facts import colours_in_order

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.job.contents import Section
    from companion.loom.dressing import Dressing


def sections_opening(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what to set up, where to begin, and how each section ends."""
    plan = dressing.sections
    if plan is None:
        return
    sections, turns = counted(len(plan.counts), "section"), counted(plan.turns, "turn")
    spools = f"set up {max(plan.counts)} spools at most"
    yield f"{sections}, each of {turns}; {spools}." if is_whole else sentence(spools)
    leave = ""
    if plan.empty_before:
        leave = f"; leave {counted(plan.empty_before, 'section')} empty there"
    yield (
        f"Begin at the {dressing.first_end} edge, seen from the front, with end 1 outermost{leave}."
    )
    yield "Wind all sections at the same tension."


def section_told(section: Section, dressing: Dressing) -> str:
    """Return what to do with a section: its ends in their order, or its turns."""
    if section.turns:
        turns = counted(section.turns, "turn")
        return f"wind {turns}, flat and even; tie the ends in their order, then cut them"
    ends = dressing.ends[section.first - 1 : section.last]
    held = counted(len(ends), "end")
    if not any(end.colour for end in ends):
        return held
    colours = [end.colour for end in ends]
    if len({*colours}) == 1:
        return f"{held}, {colours[0]}"
    return f"{held}: {' '.join(colours_in_order(colours))}"
