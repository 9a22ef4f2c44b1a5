"""What slips do to the cloth: which crossings change, and how far threads then float."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from companion.base.value import Value
from companion.diagnosis.slips import Diagnosis, Slip, applied
from companion.loom.drawdown import Floats, longest_floats
from companion.loom.dressing import Dressing
from companion.loom.threading_order import numbers_as_threaded
from companion.plan.draft.draft import Draft
from companion.plan.draft.lifts import lifted_shafts


class Effect(Value):
    """The cloth woven with slips beside the cloth as planned, in one pass of the treadling."""

    crossings_changed: int
    """Crossings of an end with a pick that show the other thread; 0 without a treadling."""
    ends_changed: int
    """Ends that weave otherwise than planned at their place."""
    ends_missing: int
    ends_added: int
    pairs_as_one: int
    """Neighbouring ends, more than planned, that weave alike and so as one thick thread."""
    floats_planned: Floats | None
    """The longest floats as planned; None without a treadling."""
    floats_now: Floats | None
    """The longest floats with the slips."""


def effect(draft: Draft, shafts: Sequence[int], diagnosis: Diagnosis) -> Effect:
    """Return what a diagnosis does to the cloth if nothing is mended.

    Slips only shift the ends behind them sideways, so those weave as planned.

    Args:
        draft: with tie-up and treadling, or a lift plan; its threading is not used.
        shafts: the shaft of every end of the warp as planned, end 1 first.
        diagnosis: slips by the plan's end numbers.
    """
    threaded = applied(shafts, diagnosis.slips)
    # Both threadings' shafts: a shaft taken by mistake may be one that is not threaded at all.
    lifts = lifted_shafts(replace(draft, shafts=(*shafts, *threaded)))
    crossings = [_crossings(slip, lifts) for slip in diagnosis.slips]
    return Effect(
        crossings_changed=sum(sum(changed) for changed in crossings),
        ends_changed=sum(number > 0 for changed in crossings for number in changed),
        ends_missing=sum(max(0, -slip.total_change) for slip in diagnosis.slips),
        ends_added=sum(max(0, slip.total_change) for slip in diagnosis.slips),
        pairs_as_one=_pairs_as_one(threaded) - _pairs_as_one(shafts),
        floats_planned=_floats(draft, shafts) if lifts else None,
        floats_now=_floats(draft, threaded) if lifts else None,
    )


def in_cloth(diagnosis: Diagnosis, threaded: Dressing) -> Diagnosis:
    """Return a diagnosis in the order of threading by the ends in the cloth, from end 1 on.

    Neighbours in threading need be none in the cloth, so each end is a slip of its own there.
    """
    if threaded.whole is None or not threaded.back_at:
        return diagnosis
    order = numbers_as_threaded(threaded.whole)
    slips = (apart for slip in diagnosis.slips for apart in _each(slip, order, threaded))
    return replace(diagnosis, slips=tuple(sorted(slips, key=lambda slip: slip.first)))


def _each(slip: Slip, order: Sequence[int], threaded: Dressing) -> Iterator[Slip]:
    own = order[slip.first - 1 : slip.last]
    for at, end in enumerate(own):
        planned, found = slip.planned[at : at + 1], slip.found[at : at + 1]
        yield replace(slip, first=end, last=end, planned=planned, found=found)
    if extra := slip.found[len(own) :]:
        is_outwards = threaded.thread_from == "centre" and slip.last + 1 >= threaded.back_at
        after_last = order[-1] + (-1 if is_outwards else 1)
        first = [*order, after_last][slip.last] + is_outwards
        found = extra[::-1] if is_outwards else extra
        yield replace(slip, first=first, last=first - 1, planned=(), found=found)


def _crossings(slip: Slip, lifts: Sequence[frozenset[int]]) -> list[int]:
    """Return, for each end that is there but on another shaft, the picks it then differs in."""
    if len(slip.planned) != len(slip.found):
        return []
    return [
        sum((planned in lift) != (found in lift) for lift in lifts)
        for planned, found in zip(slip.planned, slip.found, strict=True)
    ]


def _pairs_as_one(shafts: Sequence[int]) -> int:
    return sum(one == other for one, other in pairwise(shafts))


def _floats(draft: Draft, shafts: Sequence[int]) -> Floats:
    shafts = tuple(shafts)
    return longest_floats(replace(draft, shafts=shafts, colours=("",) * len(shafts), units=()))
