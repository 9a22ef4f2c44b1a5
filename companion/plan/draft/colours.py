"""Colours from runs of ends to places.

`[[colours]]` counts ends, as the warp is wound. A heddle that holds two ends has one colour, so
both of its ends must have the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.plan.draft.ends import threaded_ends
from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.draft.totals import colour_faults, filler, settled
from companion.plan.fault import Fault

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.plan.schema import ColourRun


def place_colours(
    runs: Sequence[ColourRun], places: int, doubled: int
) -> tuple[tuple[str, ...], list[Fault]]:
    """Return the colour of each place, at least 2 x `doubled` of them, and all that is wrong.

    `doubled` is how many heddles on each side hold two ends.
    """
    ends, index = threaded_ends(places, doubled), filler(runs)
    stretches, faults = settled(tuple(_stretch(run) for run in runs), index, ends, ("colours",))
    if faults:
        return (), faults
    step = None if index is None else stretches[index].length
    if faults := colour_faults(ends, total(stretches), step):
        return (), faults
    return _by_place(written(stretches), doubled)


def _stretch(run: ColourRun) -> Stretch[str]:
    times = 1 if run.times == "fill" else run.times
    if run.parts:
        return stretch_around(map(_stretch, run.parts), times)
    return stretch_around([stretch_of([run.colour or ""], run.ends or 0)], times)


def _by_place(colours: tuple[str, ...], doubled: int) -> tuple[tuple[str, ...], list[Fault]]:
    """Return colours by heddle, from colours by end."""
    edge = 2 * doubled
    first, last = colours[:edge], colours[len(colours) - edge :]
    for which, pair in enumerate(zip(first[::2], first[1::2], strict=True), 1):
        if pair[0] != pair[1]:
            return (), [_two_coloured(f"heddle {which}", pair)]
    for which, pair in enumerate(zip(last[-2::-2], last[::-2], strict=True), 1):
        if pair[0] != pair[1]:
            return (), [_two_coloured(f"heddle {which} from the far edge", pair)]
    return first[::2] + colours[edge : len(colours) - edge] + last[::2], []


def _two_coloured(heddle: str, pair: tuple[str, str]) -> Fault:
    return Fault(
        ("colours",),
        f"expected one colour in each doubled heddle, and {heddle} holds {pair[0]} and {pair[1]}",
        "Change the runs at the edge so that doubled ends are alike",
    )
