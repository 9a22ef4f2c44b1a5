"""Threading and sleying, together or as two passes over the warp."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from operator import attrgetter
from typing import Final, Literal, NamedTuple

from companion.base.runs import run_lengths
from companion.job.contents import Note, RulerMark
from companion.job.step_builder import colours_of
from companion.job.steps import Danger, LeftOver, Stage, Step, StepGroup
from companion.loom.dressing import Dressing, End, GroupName, Region
from companion.loom.spread import space_of_each
from companion.loom.threading_order import as_threaded, heddles_left
from companion.yarn.counts import CM_PER_INCH

PassName = Literal["thread-and-sley", "thread", "sley"]


def pass_over_warp(dressing: Dressing, name: PassName) -> Stage:
    """Return the steps, a heddle or a dent each, of one pass over the warp, asked for or not."""
    if name != "sley":
        dressing = as_threaded(dressing)
    handfuls = _dents(dressing) if name == "sley" else _heddles(dressing)
    if name != "thread":
        handfuls = _with_floating(dressing, handfuls)
    steps = tuple(_steps(dressing, handfuls, name))
    if name == "sley":
        steps = tuple(with_milestones(dressing, steps))
    if name != "thread" and dressing.sley.regions:
        steps = tuple(with_regions(dressing, steps))
    walked = Stage(
        name=name,
        counted="dent" if name == "sley" else "end",
        steps=steps,
        groups=tuple(_groups(dressing, steps, name)),
        dressing=dressing,
        unit_names=tuple(unit.name for unit in dressing.draft.units),
        left_over=tuple(_left_over(dressing, name)),
        danger=Danger.HOOKS,
    )
    return replace(
        walked,
        tells_stripes=walked.is_from_cross and has_unequal_stripes(dressing.whole or dressing),
    )


def _left_over(dressing: Dressing, name: PassName) -> Iterator[LeftOver]:
    """Yield what is left over: heddles of each shaft in use whose own number the plan gives."""
    if name != "sley":
        for row in dressing.heddles:
            if row.needed and row.have is not None:
                yield LeftOver("heddle", row.shaft, row.spare)
    if name != "thread":
        is_back = dressing.back_at and name != "sley"  # it ends at the edge of end 1
        sley = dressing.sley
        yield LeftOver("dent", 0, sley.empty_before if is_back else sley.empty_after)


class _Handful(NamedTuple):
    """What one step takes in hand."""

    ends: tuple[End, ...]
    dents: tuple[int, ...]
    group: int


def _handful(ends: Iterable[End], group: int) -> _Handful:
    held = tuple(ends)
    return _Handful(held, tuple([end.dent for end in held]), group)


def _heddles(dressing: Dressing) -> Iterator[_Handful]:
    for _, heddle in groupby(dressing.ends, key=attrgetter("place")):
        ends = list(heddle)
        yield _handful(ends, ends[0].group)


def _dents(dressing: Dressing) -> Iterator[_Handful]:
    """Yield the ends dent by dent, in groups of about an inch of reed."""
    starts = list(_group_starts(dressing))
    held = (tuple(ends) for _, ends in groupby(dressing.ends, key=attrgetter("dent")))
    stretches = groupby(held, key=lambda ends: bisect_right(starts, ends[0].dent))
    for number, (_, runs) in enumerate(stretches, start=1):
        for ends in runs:
            yield _handful(ends, number)


def _group_starts(dressing: Dressing) -> Iterator[int]:
    """Yield the first dent of each group; a region begins one, unless an inch holds it too."""
    sley, inch = dressing.sley, max(1, round(dressing.dents_per_inch))
    whole = (sley.floating + 1, len(sley.counts) - sley.floating, sley.pattern)
    spans = [(each.first_dent, each.last_dent, each.pattern) for each in sley.regions] or [whole]
    start = -inch
    for first, last, pattern in spans:
        if last - start >= inch:
            starts = range(first, last + 1, _dents_together(pattern, inch))
            yield from starts
            start = starts[-1]


def _dents_together(pattern: Sequence[int], inch: int) -> int:
    """Return the dents checked together: about an inch, in whole passes of a short order."""
    order = len(pattern)
    return inch if order > inch else order * round(Fraction(inch, order))


def _with_floating(dressing: Dressing, handfuls: Iterable[_Handful]) -> Iterator[_Handful]:
    """Put the floating selvedges at both edges, each in the group beside it."""
    floating, dents, group = dressing.sley.floating, len(dressing.sley.counts), 1
    near, far = range(1, floating + 1), range(dents - floating + 1, dents + 1)
    back_at = dressing.back_at
    if not back_at:
        yield from (_Handful((), (dent,), group) for dent in near)
    for handful in handfuls:
        if back_at and handful.ends[0].number == back_at:
            yield from (_Handful((), (dent,), group) for dent in far)
        group = handful.group
        yield handful
    yield from (_Handful((), (dent,), group) for dent in (reversed(near) if back_at else far))


def _steps(dressing: Dressing, handfuls: Iterable[_Handful], name: PassName) -> Iterator[Step]:
    has_reed, has_heddles = name != "thread", name != "sley"
    units = space_of_each((unit.last - unit.first + 1 for unit in dressing.draft.units), first=0)
    dent, colour = dressing.ends[0].dent if dressing.back_at else 0, ""
    left = heddles_left(dressing) if has_heddles else {}
    for number, (ends, dents, group) in enumerate(handfuls, start=1):
        last_colour, colour = colour, colours_of(ends)
        first_end = ends[0].number if ends else 0
        is_back = bool(first_end) and first_end == dressing.back_at
        dent = dressing.ends[0].dent if is_back else dent
        yield Step(
            number=number,
            first_end=first_end,
            last_end=ends[-1].number if ends else 0,
            shafts=tuple([end.shaft for end in ends]),
            dents=dents if has_reed else (),
            empty_dents=max(0, abs(dents[0] - dent) - 1) if has_reed else 0,
            colour=colour,
            is_new_colour=colour not in ("", last_colour),
            group=group,
            unit=units[ends[0].place - 1] if ends and units else -1,
            beam=ends[0].beam if ends and has_heddles and dressing.warps else 0,
            is_floating=not ends,
            is_doubled=len(ends) > 1 and ends[0].place == ends[-1].place,
            is_back=is_back,
            heddles_left=left.get(first_end, 0),
            amount=len(ends) if has_heddles else 1,
        )
        dent = dents[-1]


def _groups(dressing: Dressing, steps: Iterable[Step], name: PassName) -> Iterator[StepGroup]:
    by_group = groupby(steps, key=attrgetter("group"))
    for number, members in enumerate((list(each) for _, each in by_group), start=1):
        first, last = members[0].number, members[-1].number
        if name == "sley":
            yield StepGroup(number, GroupName(), first, last, len(members))
        else:
            group = dressing.groups[number - 1]
            yield StepGroup(number, group.name, first, last, group.ends)


_METRIC_MARK: Final = Fraction(5, 2) / CM_PER_INCH
"""Inches from one mark to the next, where the plan is metric; else it is an inch."""


def with_milestones(dressing: Dressing, steps: Iterable[Step]) -> Iterator[Step]:
    """Yield the steps of the sleying, with every inch, the centre and the last dent noted.

    Counting ends and dents at every mark of a ruler finds a slip within the inch it was made in
    (blossommerz.blogspot.com, "Sanity checks during sleying", February 2012).
    """
    mark = _METRIC_MARK if dressing.units == "metric" else Fraction(1)
    dents, per = (dressing.dents_per_inch * mark).as_integer_ratio()
    marks, ends = 0, 0
    for step in steps:
        ends = step.last_end or ends
        passed = step.dents[-1] * per // dents
        notes: list[Note | RulerMark | Region] = list(_centre_or_last(dressing, step))
        if passed > marks:
            notes.insert(0, RulerMark(ends, step.number, passed * mark))
        marks = passed
        yield step._replace(notes=tuple(notes)) if notes else step


def with_regions(dressing: Dressing, steps: Iterable[Step]) -> Iterator[Step]:
    """Yield the steps, the last of every region with a note of the region that comes next."""
    coming = {before.last_end: after for before, after in pairwise(dressing.sley.regions)}
    for step in steps:
        ends = range(step.first_end, step.last_end + 1)
        following = [coming[end] for end in ends if end in coming]
        yield step._replace(notes=(*step.notes, *following)) if following else step


def _centre_or_last(dressing: Dressing, step: Step) -> Iterator[Note]:
    dents = len(dressing.sley.counts)
    beyond = 2 * step.dents[-1] - dents
    if 0 <= beyond < 2 * (step.empty_dents + 1):
        yield Note.CENTRE_DENT
    if step.dents[-1] == dents:
        yield Note.LAST_DENT


def has_unequal_stripes(dressing: Dressing) -> bool:
    """Return whether some colour has stripes of several widths, those at the edges left out.

    Such a warp tells no place by counting stripes, so the order of colours at the cross is worth
    telling group by group: common practice, no source. Two warps have a cross each, so there it
    would tell nothing.
    """
    if dressing.warps:
        return False
    stripes = run_lengths(end.colour for end in dressing.ends)
    widths: defaultdict[str, set[int]] = defaultdict(set)
    for colour, width in stripes[1:-1]:
        widths[colour].add(width)
    return any(len(each) > 1 for each in widths.values())
