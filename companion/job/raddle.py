"""Spreading the warp in the raddle, section by section, before it is beamed.

What goes wrong here is only the spread of the warp on its beam, so a wrong count warns and does
not hold the walk (common practice, no source). The lease sticks' ends are tied before the ties of
the cross are cut, since a lost cross cannot be had back (common practice, no source).
"""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING, Final

from companion.job.sides import near_and_far, start_at_edge
from companion.job.step_builder import (
    Told,
    ToldGroup,
    colours_of,
    in_stretches,
    number_of,
    numbered,
    span,
)
from companion.job.steps import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing, RaddlePlan

MOST_SECTIONS: Final = 12
"""Sections counted together at most; our own choice."""


def raddle_stage(dressing: Dressing) -> Stage:
    """Return the spreading, with a section a step; the centre is a boundary."""
    plan = dressing.raddle
    if plan is None:
        raise ValueError("expected a plan with a raddle")
    steps, groups = numbered(_groups(dressing, plan))
    return Stage(
        name="raddle",
        title="spreading in the raddle",
        counted="sections",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing, plan)),
        dressing=dressing,
        item="section",
        asked="of its sections hold ends",
        only_warns=True,
    )


def _groups(dressing: Dressing, plan: RaddlePlan) -> Iterator[ToldGroup]:
    sections = list(_sections(dressing, plan))
    middle = _middle(plan)
    runs = in_stretches(1, middle, MOST_SECTIONS)
    if middle < len(sections):
        runs += in_stretches(middle + 1, len(sections), MOST_SECTIONS)
    for first, last in runs:
        yield ToldGroup(
            span("section", first, last),
            sections[first - 1 : last],
            too_few="the ends of two sections laid in one",
            too_many="the ends of one section laid in two",
        )


def _sections(dressing: Dressing, plan: RaddlePlan) -> Iterator[Told]:
    edges = accumulate(plan.counts)
    for number, (count, upto) in enumerate(zip(plan.counts, edges, strict=True), start=1):
        holds = number_of(count, "end") if count else "leave it empty"
        words = f"section {number}: {holds}"
        first, last = (upto - count + 1, upto) if count else (0, 0)
        colour = colours_of(dressing.ends[upto - count : upto])
        yield Told(words, min(count, 1), _milestone(plan, number), first, last, colour)


def _middle(plan: RaddlePlan) -> int:
    """Return the last section of the half that is laid first, or the middle one."""
    return (len(plan.counts) + 1) // 2


def _milestone(plan: RaddlePlan, number: int) -> str:
    """Return what the weaver can check by touch once this section is filled."""
    used = len(plan.counts)
    if number == used:
        return _all_used(plan)
    if number != _middle(plan):
        return ""
    if used % 2:
        return f"This is the middle one of {used} sections: the centre of the warp lies in it."
    return f"This makes half of the {used} sections: the centre of the warp comes right after it."


def _all_used(plan: RaddlePlan) -> str:
    used = f"This makes all {number_of(len(plan.counts), 'section')}"
    before, after = plan.empty_before, plan.empty_after
    if before is None or after is None:
        return f"{used}."
    if before == after:
        return f"{used}: {before} stay empty on each side." if before else f"{used}: none is empty."
    return f"{used}: {before} stay empty before the first one, and {after} after this one."


def _start(dressing: Dressing, plan: RaddlePlan) -> Iterator[str]:
    yield "Tie the lease sticks to each other first; only then cut the ties of the cross."
    yield from start_at_edge(dressing, is_behind=True)
    yield _first_section(dressing, plan)
    if dressing.wound_together > 1:
        yield (
            f"The {dressing.wound_together} ends that were wound together stay together: a section "
            "takes whole bundles of them."
        )
    yield from _loops(plan)
    yield "A wrong number in a section does little harm here: it is told, and the walk goes on."


def _first_section(dressing: Dressing, plan: RaddlePlan) -> str:
    near, _ = near_and_far(dressing)
    if plan.empty_before is None:
        half = number_of(_middle(plan), "section")
        return f"Begin {half} before the centre of the raddle, on the side of that edge."
    if not plan.empty_before:
        return "Section 1 is the raddle's own first section at that edge."
    return (
        f"Section 1 is section {plan.empty_before + 1} of the raddle, counted from its {near} "
        f"end, seen from the front of the loom: leave {plan.empty_before} empty."
    )


def _loops(plan: RaddlePlan) -> Iterator[str]:
    """Yield what odd numbers mean for ends that hang in uncut loops, two to a loop."""
    if any(count % 2 for count in plan.counts[:-1]):
        yield (
            "If a section takes an odd number, the two ends of one loop go into neighbouring "
            "sections, and the loop stays whole on its rod."
        )
    if sum(plan.counts) % 2:
        yield "The ends are odd in all, so one of them is without a loop: tie it to the rod."
