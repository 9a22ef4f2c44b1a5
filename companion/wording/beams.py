"""What is said of two warps, each on a beam of its own, and of a beam divided into sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted, sentence
from companion.wording.warp_facts import colours_in_order

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.job.contents import Section
    from companion.loom.dressing import Dressing


def own_warp(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield which warp this is, where it is one of two."""
    if dressing.whole is not None:
        ends = f": {counted(len(dressing.ends), 'end')}, counted on their own" if is_whole else ""
        yield f"This is the warp of beam {dressing.beam_number}{ends}."


def own_beam(dressing: Dressing) -> Iterator[str]:
    """Yield on which beam a warp goes, and how tight it will be held."""
    if dressing.whole is not None:
        yield f"This is beam {dressing.beam_number}."
    if dressing.beam_number > 1:
        yield from second_tension(dressing)


def two_crosses(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what to know before ends are taken from two crosses."""
    if dressing.warps:
        change = ", and the beam is told where it changes" if is_whole else ""
        yield f"Each beam has a cross of its own{change}."


def two_tensions(dressing: Dressing) -> Iterator[str]:
    """Yield what to know before two warps are tied on together."""
    if dressing.warps:
        held = f"hold each warp evenly{second_held(dressing)}"
        yield f"Ends of both beams go into each bout; {held}."


def second_held(dressing: Dressing) -> str:
    """Return how the second warp is held, to follow the first; "" where as that is."""
    how = dressing.second_tension
    return "" if how == "alike" else f", beam 2 {how}"


def second_tension(dressing: Dressing) -> Iterator[str]:
    """Yield how the second warp is held, where not as the first."""
    if dressing.second_tension != "alike":
        yield f"The warp of beam 2 is to be {dressing.second_tension} than that of beam 1."


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
