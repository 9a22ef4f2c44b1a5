"""How far a job is that was not walked in one go: what a begun stage tells of those before it."""

from collections.abc import Collection, Iterable
from typing import Final

from companion.job.job import in_order, stages
from companion.job.steps import PASSES, StageName
from companion.loom.dressing import Dressing

_APART: Final = frozenset({"move-heddles", "heddles", "tie-up", "peg"})
"""Stages that the warp does not go through: being at them tells nothing of the others."""
_TOGETHER: Final[StageName] = "thread-and-sley"
_SEPARATE: Final[tuple[StageName, ...]] = ("thread", "sley")


def ordered(dressing: Dressing, names: Iterable[StageName]) -> tuple[StageName, ...]:
    """Return stages in the order of the plan's method, each once, other passes with its own."""
    order: list[StageName] = list(in_order(dressing))
    at = order.index(stages(dressing)[0])
    others = (name for name in (_TOGETHER, *_SEPARATE) if name not in order)
    order[at:at] = others
    wanted = frozenset(names)
    return tuple(name for name in order if name in wanted)


def are_at_odds(names: Collection[StageName], begun: Collection[StageName]) -> bool:
    """Return whether passes over the warp are wanted otherwise than they were begun.

    A whole job takes up the passes as they were begun; passes wanted by themselves do not.
    """
    is_passes_alone = set(names) <= PASSES
    wants_together, was_together = _TOGETHER in names, _TOGETHER in begun
    is_begun = not PASSES.isdisjoint(begun)
    return is_passes_alone and is_begun and wants_together is not was_together


def counted_as_done(
    dressing: Dressing,
    names: Iterable[StageName],
    begun: Collection[StageName],
    *,
    is_whole: bool = True,
) -> tuple[StageName, ...]:
    """Return which of these stages must have been done although they were never begun here.

    A warp that is being threaded has been wound, where the whole job is wanted and not just these
    stages; and passes over it begun in one way are not walked in the other too.
    """
    order = ordered(dressing, {*names, *begun})
    known = (order.index(name) for name in begun if name in order and name not in _APART)
    last = max(known, default=0) if is_whole else 0
    done = {*order[:last], *_passes_otherwise(begun)}.difference(begun)
    return tuple(name for name in names if name in done)


def _passes_otherwise(begun: Collection[StageName]) -> tuple[StageName, ...]:
    if _TOGETHER in begun:
        return _SEPARATE
    return () if set(begun).isdisjoint(_SEPARATE) else (_TOGETHER,)


def is_past(dressing: Dressing, name: StageName, begun: Collection[StageName]) -> bool:
    """Return whether a stage lies before one that is begun and that the warp goes through."""
    order = ordered(dressing, {name, *begun})
    if name not in order:
        return False
    return any(each not in _APART and each in order[order.index(name) + 1 :] for each in begun)
