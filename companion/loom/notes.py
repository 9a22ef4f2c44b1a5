"""Advice on a plan that does not stop the work."""

from collections.abc import Iterator, Sequence
from typing import Final

from companion.loom import heddles, sley
from companion.loom import remarks as r
from companion.loom.dressing import ShaftHeddles
from companion.loom.tie_up import TieUpPlan
from companion.plan.draft.lifts import lifted_shafts
from companion.plan.equipment import Loom
from companion.plan.file.reader import Plan

_COUNTERBALANCE_SHAFTS: Final = 4


def notes(plan: Plan, rows: Sequence[ShaftHeddles], ties: TieUpPlan | None) -> tuple[r.Remark, ...]:
    """Return everything there is to remark."""
    return (
        *map(r.Tolerated, plan.notes),
        *_width(plan),
        *sley.notes(plan),
        *heddles.notes(plan, rows),
        *_loom(plan.file.loom),
        *_sheds(plan),
        *(_ties(plan, ties) if ties else ()),
    )


def _width(plan: Plan) -> Iterator[r.Remark]:
    """Yield a remark where whole passes of the threading fill less than the width asked for."""
    asked, there = plan.file.asked_ends, plan.ends
    if asked is not None and asked != there:
        yield r.WidthUnfilled(asked, there)


def _loom(loom: Loom) -> Iterator[r.Remark]:
    """Yield remarks on the loom itself; both are common practice, no source."""
    if loom.kind == "counterbalance" and loom.shafts != _COUNTERBALANCE_SHAFTS:
        yield r.ManyBalanced(loom.shafts)
    if loom.method == "front-to-back" and loom.passes == "together":
        yield r.FrontInOnePass()


def _sheds(plan: Plan) -> Iterator[r.Remark]:
    """Yield a remark on sheds that a counterbalance loom opens unevenly.

    Common practice, no source: its shafts hang in balance, as many up as down.
    """
    used = len(set(plan.draft.shafts))
    if plan.file.loom.kind != "counterbalance" or used != _COUNTERBALANCE_SHAFTS:
        return
    sheds = dict.fromkeys(lifted_shafts(plan.draft))
    uneven = sum(len(shed) in {1, used - 1} for shed in sheds)
    if uneven:
        yield r.UnevenSheds(uneven)


def _ties(plan: Plan, ties: TieUpPlan) -> Iterator[r.Remark]:
    """Yield what becomes of picks that press treadles together on a loom that moves otherwise."""
    kind = plan.file.loom.kind or ""
    if ties.way == "none":
        sheds = len({lift for lift in lifted_shafts(plan.draft) if lift})
        yield r.NoTies(kind, sheds, len(plan.draft.treadles))
    elif ties.way == "a-shed-each":
        pairs = zip(plan.draft.picks, ties.picks, strict=True)
        moved = {planned: own[0] for planned, own in pairs if planned != own and own}
        yield r.ShedEach(kind, tuple(moved.items()))
