"""Winding the warp, colour by colour, with a group at every tie of the counting cross."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from companion.job.step_builder import Told, ToldGroup, number_of, numbered, span
from companion.job.steps import Stage
from companion.loom.winding import counting_groups
from companion.plan.draft.ends import CM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from companion.loom.dressing import Dressing
    from companion.loom.winding import Run


def wind_stage(dressing: Dressing) -> Stage:
    """Return the winding, with a step for every run of one colour in a group."""
    steps, groups = numbered(_groups(dressing))
    return Stage(
        name="wind",
        title="winding the warp",
        counted="ends",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing)),
        dressing=dressing,
        asked="ends does it hold at the counting cross",
        caution=(
            "Keep children and animals away from the warp: its loops can catch and choke. Stand "
            "easily, and change arms or rest before your shoulder aches."
        ),
    )


def _groups(dressing: Dressing) -> Iterator[ToldGroup]:
    total = len(dressing.ends)
    for runs in counting_groups(dressing):
        yield ToldGroup(
            span("end", runs[0].first, runs[-1].last),
            [_told(run, dressing.wound_together, total) for run in runs],
            too_few="a round left out",
            too_many="a round wound once too often",
        )


def _told(run: Run, together: int, total: int) -> Told:
    words = f"wind {_rounds(run, together)}, which makes {run.last} of {total}"
    colour = " and ".join(run.colours)
    return Told(words, run.ends, first_end=run.first, last_end=run.last, colour=colour)


def _rounds(run: Run, together: int) -> str:
    ends = number_of(run.ends, "end")
    if together == 1:
        return ends
    if run.ends == run.together:
        return f"{ends} {'alone' if run.ends == 1 else 'together'}"
    return f"{ends} in {run.ends // run.together} rounds of {run.together}"


def _start(dressing: Dressing) -> Iterator[str]:
    yield (
        f"End 1 will lie at the {dressing.first_end} edge, seen from the front of the loom. "
        "Lay the cross at every end, and tie off each group at the counting cross."
    )
    if dressing.wound_together > 1:
        yield (
            f"{dressing.wound_together} ends are wound at once, and cross as one: make the cross "
            "with them together."
        )
    if dressing.yarns is not None:
        yield f"Every end is to be {_length(dressing, dressing.yarns.wind)} long."
    if dressing.sley.floating:
        edges = number_of(2 * dressing.sley.floating, "floating selvedge end")
        yield f"The {edges} come on top, and are wound apart."


def _length(dressing: Dressing, inches: Fraction) -> str:
    """Return a length in whole units that is not too short, as it is spoken."""
    if dressing.units == "metric":
        return number_of(ceil(inches * CM_PER_INCH), "centimetre")
    whole = ceil(inches)
    return "1 inch" if whole == 1 else f"{whole} inches"
