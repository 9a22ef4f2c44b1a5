"""Threading and sleying, together or as two passes over the warp."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from companion.job.milestones import with_milestones
from companion.job.sides import near_and_far, shaft_one, start_at_edge
from companion.job.step_builder import colours_of
from companion.job.steps import LeftOver, Stage, Step, StepGroup
from companion.loom.spread import space_of_each

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from companion.loom.dressing import Dressing, End

PassName = Literal["thread-and-sley", "thread", "sley"]

_TITLES: Final[dict[PassName, str]] = {
    "thread-and-sley": "threading and sleying",
    "thread": "threading",
    "sley": "sleying",
}


def pass_over_warp(dressing: Dressing, name: PassName) -> Stage:
    """Return the steps of one pass over the warp, whether or not the plan asks for it.

    A step is a heddle, or a dent when sleying; `handful` tells several of them together.
    """
    handfuls = _dents(dressing) if name == "sley" else _heddles(dressing)
    if name != "thread":
        handfuls = _with_floating(dressing, handfuls)
    steps = tuple(_steps(dressing, handfuls, name))
    if name == "sley":
        steps = tuple(with_milestones(dressing, steps))
    return Stage(
        name=name,
        title=_TITLES[name],
        counted="dents" if name == "sley" else "ends",
        steps=steps,
        groups=_dent_groups(steps) if name == "sley" else _end_groups(steps, dressing),
        unit_names=tuple(unit.name for unit in dressing.draft.units),
        start=" ".join(_start(dressing, name)),
        dressing=dressing,
        left_over=tuple(_left_over(dressing, name)),
        asked="dents hold ends" if name == "sley" else "ends are in heddles",
    )


def _left_over(dressing: Dressing, name: PassName) -> Iterator[LeftOver]:
    """Yield what is left over: heddles of each shaft in use whose own number the plan gives."""
    if name != "sley":
        for row in dressing.heddles:
            if row.needed and row.have is not None:
                yield LeftOver("heddle", row.shaft, max(0, row.have - row.needed))
    if name != "thread":
        yield LeftOver("dent", 0, dressing.sley.empty_after)


class _Handful(NamedTuple):
    """What one step takes in hand."""

    ends: tuple[End, ...]
    dents: tuple[int, ...]
    group: int


def _handful(ends: Iterable[End], group: int) -> _Handful:
    held = tuple(ends)
    return _Handful(held, tuple([end.dent for end in held]), group)


def _heddles(dressing: Dressing) -> Iterator[_Handful]:
    """Yield the ends heddle by heddle."""
    for _, heddle in groupby(dressing.ends, key=attrgetter("place")):
        ends = list(heddle)
        yield _handful(ends, ends[0].group)


def _is_doubled(ends: Sequence[End]) -> bool:
    return len(ends) > 1 and ends[0].place == ends[-1].place


def _dents(dressing: Dressing) -> Iterator[_Handful]:
    """Yield the ends dent by dent, in groups of about an inch of reed."""
    size, first = _dents_together(dressing), dressing.sley.floating + 1
    held = (tuple(ends) for _, ends in groupby(dressing.ends, key=attrgetter("dent")))
    stretches = groupby(held, key=lambda ends: (ends[0].dent - first) // size)
    for number, (_, runs) in enumerate(stretches, start=1):
        for ends in runs:
            yield _handful(ends, number)


def _dents_together(dressing: Dressing) -> int:
    """Return the dents checked together: about an inch, in whole passes of a short order."""
    inch = max(1, round(dressing.dents_per_inch))
    order = len(dressing.sley.pattern)
    return inch if order > inch else order * round(Fraction(inch, order))


def _with_floating(dressing: Dressing, handfuls: Iterable[_Handful]) -> Iterator[_Handful]:
    """Put the floating selvedges at both edges, in the first and the last group."""
    floating, dents, group = dressing.sley.floating, len(dressing.sley.counts), 1
    for dent in range(1, floating + 1):
        yield _Handful((), (dent,), group)
    for handful in handfuls:
        group = handful.group
        yield handful
    for dent in range(dents - floating + 1, dents + 1):
        yield _Handful((), (dent,), group)


def _steps(dressing: Dressing, handfuls: Iterable[_Handful], name: PassName) -> Iterator[Step]:
    has_reed, has_heddles = name != "thread", name != "sley"
    units = space_of_each((unit.last - unit.first + 1 for unit in dressing.draft.units), first=0)
    dent, colour = 0, ""
    for number, (ends, dents, group) in enumerate(handfuls, start=1):
        last_colour, colour = colour, colours_of(ends)
        yield Step(
            number=number,
            first_end=ends[0].number if ends else 0,
            last_end=ends[-1].number if ends else 0,
            shafts=tuple([end.shaft for end in ends]),
            dents=dents if has_reed else (),
            empty_dents=max(0, dents[0] - dent - 1) if has_reed else 0,
            colour=colour,
            is_new_colour=colour not in ("", last_colour),
            group=group,
            unit=units[ends[0].place - 1] if ends else -1,
            is_floating=not ends,
            is_doubled=_is_doubled(ends),
            amount=len(ends) if has_heddles else 1,
        )
        dent = dents[-1]


def _end_groups(steps: Iterable[Step], dressing: Dressing) -> tuple[StepGroup, ...]:
    groups = []
    for group, members in zip(dressing.groups, _by_group(steps), strict=True):
        ends = group.last - group.first + 1
        first, last = members[0].number, members[-1].number
        groups.append(StepGroup(group.number, group.name, first, last, ends))
    return tuple(groups)


def _dent_groups(steps: Iterable[Step]) -> tuple[StepGroup, ...]:
    groups = []
    for number, members in enumerate(_by_group(steps), start=1):
        first, last = members[0], members[-1]
        name = f"dents {first.dents[0]} to {last.dents[0]}"
        groups.append(StepGroup(number, name, first.number, last.number, len(members)))
    return tuple(groups)


def _by_group(steps: Iterable[Step]) -> Iterator[list[Step]]:
    return (list(members) for _, members in groupby(steps, key=attrgetter("group")))


def _start(dressing: Dressing, name: PassName) -> Iterator[str]:
    """Yield the sentences that say from which edge, seen from where, and in which dent to start.

    They hold none of the words a weaver commands with, such as the one for the rear of the loom.
    """
    is_behind = dressing.method == "front-to-back" and name != "sley"
    yield from start_at_edge(dressing, is_behind=is_behind)
    if name != "thread":
        yield _first_dent(dressing)
    yield from _floating(dressing, name)
    if name != "sley":
        yield shaft_one(dressing)


def _first_dent(dressing: Dressing) -> str:
    sley, (near, _) = dressing.sley, near_and_far(dressing)
    if not sley.empty_before:
        return "Dent 1 is the reed's own first dent at that edge."
    return (
        f"Dent 1 is dent {sley.first_dent} of the reed, counted from its {near} end, "
        f"seen from the front of the loom: leave {sley.empty_before} empty."
    )


def _floating(dressing: Dressing, name: PassName) -> Iterator[str]:
    number = dressing.sley.floating
    if number and name == "thread":
        yield "Leave the floating selvedge at each edge out of the heddles."
    elif number:
        what = "A floating selvedge comes" if number == 1 else f"{number} floating selvedges come"
        yield f"{what} first and the same last: one to a dent, and in none of the heddles."
