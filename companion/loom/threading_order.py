"""The order in which the ends are threaded, where it is not from the edge of end 1 to the other.

From the centre out, first to one edge and then to the other; or the ends of one colour first. Both
are common practice, no source; which half comes first is our own choice.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import groupby, pairwise
from operator import attrgetter

from companion.base.text import listed
from companion.loom.dressing import Dressing, End, Group, GroupName
from companion.loom.groups import MOST_ENDS
from companion.loom.spread import space_of_each
from companion.plan.draft.draft import Draft, Unit
from companion.plan.fault import Fault, Path
from companion.plan.file.reader import Plan

_Arm = tuple["End", ...]
"""Ends threaded one after the other before the weaver goes back."""


def threading_faults(plan: Plan) -> Iterator[Fault]:
    """Yield what keeps the ends from being threaded in the order asked for."""
    loom, first = plan.file.loom, plan.file.loom.thread_first
    path: Path = ("loom", "thread_from" if first is None else "thread_first")
    if first is None and loom.thread_from == "edge":
        return
    if plan.file.old_warp is not None:
        yield Fault(path, "expected a warp to thread, and this one is knotted", "Take it out")
    why = why_separate(first, loom.thread_from, has_regions=bool(plan.file.reed.parts))
    if loom.passes == "together" and why:
        yield Fault(
            path,
            f"expected the reed as a pass of its own, since {why}",
            'Write passes = "separate" under [loom]',
        )
    there = [colour for colour in dict.fromkeys(plan.draft.colours) if colour]
    if first is not None and (first not in there or set(plan.draft.colours) == {first}):
        known = listed(there, "or") if len(there) > 1 else "none"
        yield Fault(
            path,
            f'expected one colour of several in the warp, found "{first}"',
            f"Write one of its colours ({known}), or take it out",
        )


def why_separate(first: str | None, start: str, *, has_regions: bool) -> str:
    """Return why the reed needs a pass of its own in an order; "" where it does not."""
    if first:
        return "ends of one colour are no neighbours in the dents"
    if start == "centre" and has_regions:
        return "its regions are told from the edge of end 1 on, not from the centre"
    return ""


def as_threaded(dressing: Dressing) -> Dressing:
    """Return a dressing with its ends in the order of threading, numbered from 1 in that order.

    Places, groups and units follow that order, and one that the centre parts is two; of one colour
    alone there are no units. Dents keep their numbers. From the edge nothing changes.
    """
    arms = _arms(dressing)
    if dressing.back_at or not all(arms):
        return dressing
    order = [*arms[0], *arms[1]]
    places = {place: at for at, place in enumerate(dict.fromkeys(e.place for e in order), 1)}
    groups = tuple(_groups(dressing, arms))
    group_of = space_of_each(group.ends for group in groups)
    ends = tuple(
        end._replace(number=number, place=places[end.place], group=group)
        for number, (end, group) in enumerate(zip(order, group_of, strict=True), start=1)
    )
    draft = dressing.draft
    return replace(
        dressing,
        ends=ends,
        groups=groups,
        draft=replace(
            draft,
            shafts=tuple(draft.shafts[place - 1] for place in places),
            colours=tuple(draft.colours[place - 1] for place in places),
            units=() if dressing.thread_first else tuple(_units(draft, arms, places)),
        ),
        back_at=len(arms[0]) + 1,
        whole=dressing,
    )


def numbers_as_threaded(whole: Dressing) -> tuple[int, ...]:
    """Return the number from edge to edge of each end, in the order of threading."""
    return tuple(end.number for arm in _arms(whole) for end in arm)


def heddles_left(threaded: Dressing) -> dict[int, int]:
    """Return how many heddles of ends threaded later lie before an end on its shaft, by that end.

    Where every end takes the next heddle there are none.
    """
    found: dict[int, int] = {}
    first = threaded.thread_first
    if not first or threaded.whole is None:
        return found
    between: Counter[int] = Counter()
    number = 1
    for _, heddle in groupby(threaded.whole.ends, key=attrgetter("place")):
        held = list(heddle)
        shaft = held[0].shaft
        if held[0].colour != first:
            between[shaft] += 1
            continue
        if between[shaft]:
            found[number] = between.pop(shaft)
        number += len(held)
    return found


def _arms(dressing: Dressing) -> tuple[_Arm, _Arm]:
    ends, first = dressing.ends, dressing.thread_first
    if first:
        of_it = tuple(end for end in ends if end.colour == first)
        return of_it, tuple(end for end in ends if end.colour != first)
    if dressing.thread_from == "edge":
        return ends, ()
    cut = _centre(dressing)
    return ends[cut:], ends[:cut][::-1]


def _centre(dressing: Dressing) -> int:
    """Return after how many ends the halves part: nearest the middle, within no heddle or dent."""
    keys = ("place", "dent") if dressing.passes == "together" else ("place",)
    cuts = (
        one.number
        for one, other in pairwise(dressing.ends)
        if all(getattr(one, key) != getattr(other, key) for key in keys)
    )
    return min(cuts, key=lambda cut: abs(2 * cut - len(dressing.ends)), default=0)


def _groups(dressing: Dressing, arms: Iterable[_Arm]) -> Iterator[Group]:
    """Yield the groups anew; what is left of several for one colour is counted together."""
    number, last = 0, 0
    for arm in arms:
        parts = [(group, len(list(own))) for group, own in groupby(arm, key=attrgetter("group"))]
        for held in _together(parts) if dressing.thread_first else [[part] for part in parts]:
            number, first, last = number + 1, last + 1, last + sum(ends for _, ends in held)
            name = GroupName() if dressing.thread_first else dressing.groups[held[0][0] - 1].name
            yield Group(number, name, first, last)


def _together(parts: Iterable[tuple[int, int]]) -> Iterator[list[tuple[int, int]]]:
    run: list[tuple[int, int]] = []
    for part in parts:
        if run and sum(ends for _, ends in (*run, part)) > MOST_ENDS:
            yield run
            run = []
        run.append(part)
    yield run


def _units(draft: Draft, arms: Iterable[_Arm], places: Mapping[int, int]) -> Iterator[Unit]:
    unit_of = space_of_each((unit.last - unit.first + 1 for unit in draft.units), first=0)
    number = 0
    for arm in arms:
        for index, own in groupby(arm, key=lambda end: unit_of[end.place - 1]):
            held = [places[end.place] for end in own]
            number, unit = number + 1, draft.units[index]
            yield unit._replace(number=number, first=held[0], last=held[-1])
