"""The drawdown: the Boolean product of treadling, tie-up and threading; up is the face."""

from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from companion.base.value import Value
from companion.plan.draft.draft import Draft
from companion.plan.draft.lifts import Shafts, lifted_shafts


class Drawdown(Value):
    """A woven cloth as a picture of its interlacing."""

    ends: int
    rows: tuple[int, ...]
    """For each pick a bit for each end, end 1 the lowest; 1 where the warp is up."""

    def is_warp_up(self, pick: int, end: int) -> bool:
        """Tell whether the warp is on the face where a pick crosses an end, both from 1."""
        return bool(self.rows[pick - 1] >> (end - 1) & 1)

    def ends_up(self, pick: int) -> tuple[int, ...]:
        """Return the ends above the shuttle in a pick."""
        bits = reversed(f"{self.rows[pick - 1]:b}")
        return tuple(end for end, bit in enumerate(bits, start=1) if bit == "1")


class Floats(NamedTuple):
    """The longest floats, in threads passed over; 0 where a thread never shows on that side."""

    warp_on_face: int
    warp_on_back: int
    weft_on_face: int
    weft_on_back: int


def drawdown(draft: Draft) -> Drawdown:
    """Return the drawdown of a draft's picks, once through."""
    ends = len(draft.shafts)
    shaft_rows = {shaft: _row(draft.shafts, shaft) for shaft in set(draft.shafts)}
    lifts = lifted_shafts(draft)
    rows = {lift: sum(shaft_rows[shaft] for shaft in lift) for lift in set(lifts)}
    return Drawdown(ends, tuple(rows[lift] for lift in lifts))


def _row(shafts: Sequence[int], wanted: int) -> int:
    """Return the bits of the ends on one shaft, in linear time."""
    return int("0" + "".join("1" if shaft == wanted else "0" for shaft in reversed(shafts)), 2)


def longest_floats(draft: Draft) -> Floats:
    """Return the longest floats of a draft whose picks are woven over and over.

    The warp is taken as it is, from edge to edge. A float that never ends is as long as the picks.
    """
    lifts = lifted_shafts(draft)
    warp = [[shaft in lift for lift in (*lifts, *lifts)] for shaft in sorted(set(draft.shafts))]
    weft = [[shaft in lift for shaft in draft.shafts] for lift in set(lifts)]
    picks = len(lifts)
    return Floats(
        warp_on_face=min(picks, _longest_run(warp, up=True)),
        warp_on_back=min(picks, _longest_run(warp, up=False)),
        weft_on_face=_longest_run(weft, up=False),
        weft_on_back=_longest_run(weft, up=True),
    )


def _longest_run(threads: Iterable[Iterable[bool]], *, up: bool) -> int:
    runs = (sum(1 for _ in run) for row in threads for is_up, run in groupby(row) if is_up is up)
    return max(runs, default=0)


def check_sheds(shafts: Sequence[int]) -> tuple[Shafts, Shafts] | None:
    """Return the two sets of shafts that weave plain cloth across a threading, or None.

    Lifted by turns they put every end opposite its neighbours, so that a doubled, missed or
    crossed end shows. Together they hold every shaft threaded; the first holds the lowest. For a
    threading that will be repeated give it two repeats, so that the join is judged too. There is
    at most one such pair, since each end settles the next one's side.
    """
    side = {shaft: index % 2 for index, shaft in enumerate(shafts)}
    if not side or any(side[one] == side[other] for one, other in pairwise(shafts)):
        return None
    lowest = side[min(side)]
    first = frozenset(shaft for shaft in side if side[shaft] == lowest)
    second = frozenset(side) - first
    return (first, second) if second else None
