"""What is said where a cloth has two warps, each on a beam of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import counted

if TYPE_CHECKING:
    from collections.abc import Iterator

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
