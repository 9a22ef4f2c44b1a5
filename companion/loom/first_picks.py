"""The sheds to look across before weaving, for this very threading."""

from itertools import combinations, pairwise
from typing import NamedTuple

from companion.loom.drawdown import check_sheds
from companion.loom.dressing import Dressing
from companion.loom.tie_up import Press, TieUpPlan
from companion.plan.draft.lifts import Shafts


class Shed(NamedTuple):
    """One shed to open and look across."""

    shafts: tuple[int, ...]
    """The shafts that stand above, in rising order."""
    treadles: tuple[int, ...]
    """The treadle, or two, that open it; () where none of the tie-up does."""


class FirstPicks(NamedTuple):
    """What to look at before weaving."""

    sheds: tuple[Shed, ...]
    is_plain: bool
    """Whether the sheds are a pair that weaves plain cloth; else each shaft is raised alone."""


def first_picks(dressing: Dressing) -> FirstPicks:
    """Return the pair of sheds that sets every end against its neighbours, or each shaft alone.

    There is no such pair where ends an even number apart are neighbours elsewhere, as in broken
    twills; see `companion.loom.drawdown.check_sheds`.
    """
    draft = dressing.draft
    pair = check_sheds(draft.shafts)
    lifted = pair or tuple(frozenset({shaft}) for shaft in sorted(set(draft.shafts)))
    presses = presses_of(dressing.tie_up, frozenset(draft.shafts)) if dressing.tie_up else {}
    sheds = tuple(Shed(tuple(sorted(shafts)), presses.get(shafts, ())) for shafts in lifted)
    return FirstPicks(sheds, pair is not None)


def alike_pairs(dressing: Dressing) -> int:
    """Return how many pairs of neighbouring ends are on one shaft on purpose."""
    return sum(one.shaft == other.shaft for one, other in pairwise(dressing.ends))


def presses_of(ties: TieUpPlan, threaded: Shafts) -> dict[Shafts, Press]:
    """Return by which treadle, or which two together, just these threaded shafts are raised."""
    tied = [number for number, each in enumerate(ties.treadles, start=1) if each.number]
    presses: dict[Shafts, Press] = {}
    for press in (*((number,) for number in tied), *combinations(tied, 2)):
        raised = ties.raised(press)
        if raised is not None:
            presses.setdefault(raised & threaded, press)
    return presses
