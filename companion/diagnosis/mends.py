"""The ways to put slips right, with the ends each makes the weaver do again, cheapest first."""

from collections import Counter
from enum import StrEnum
from typing import NamedTuple

from companion.diagnosis.slips import Diagnosis, Slip, SlipKind


class How(StrEnum):
    """A way to mend."""

    LEAVE = "leave"
    """Nothing need be done: a single empty heddle among threaded ones does no harm."""
    THREAD_END = "thread end"
    """Take the end from the lease and draw it through its own heddle, which hangs there empty."""
    PULL_ENDS = "pull ends"
    """Pull the extra ends out and leave their heddles empty; they weave no more."""
    SWAP_ENDS = "swap ends"
    """Pull the ends out and draw them in again in the right order; the heddles are there."""
    REPAIR_HEDDLE = "repair heddle"
    """Tie a repair heddle on the right shaft at the spot and draw the end through it."""
    RETHREAD = "re-thread"
    """Pull every end from the slip to the last one threaded, and thread them again."""
    THREAD_ON = "thread on"
    """Thread from the slip to the last end; none of them is in a heddle."""
    RESLEY = "re-sley"
    """Pull every end from the dent to the nearer edge out of the reed, and sley them again."""


MOST_REPAIR_HEDDLES = 4
"""Beyond this many at one spot repair heddles are no mend. Common practice, no source."""


_TOO_MANY = frozenset({SlipKind.DOUBLED_END, SlipKind.EXTRA_END, SlipKind.UNIT_ADDED})


class Mend(NamedTuple):
    """One way to mend everything in a diagnosis."""

    how: tuple[How, ...]
    """What to do for each slip, in order; one RETHREAD or THREAD_ON mends all from there on."""
    ends: int
    """Ends to draw in again, or to pull."""
    repair_heddles: int
    first: int
    """The first end concerned."""
    last: int
    """The last end concerned."""

    @property
    def effort(self) -> int:
        """How much work it is, in ends; tying a repair heddle counts as two. Our own choice."""
        return self.ends + 2 * self.repair_heddles


def mends(diagnosis: Diagnosis, threaded_to: int) -> tuple[Mend, ...]:
    """Return the ways to mend slips of threading up to the last end threaded, cheapest first.

    Where the report could not tell the place, only threading anew from the first place helps.
    """
    slips = diagnosis.slips
    if not slips:
        return ()
    is_there = diagnosis.is_placed and all(_spot(slip) for slip in slips)
    found = [_each_at_its_spot(slips)] if is_there else []
    real = [slip for slip in slips if slip.kind is not SlipKind.SKIPPED_HEDDLE]
    if real:
        first = min(slip.first for slip in real)
        last = max(threaded_to, *(slip.last for slip in real))
        if first <= last:  # else what is extra comes after them all
            extra = sum(max(0, slip.total_change) for slip in real)
            ends = last - first + 1
            is_none_there = -sum(slip.total_change for slip in real) == ends
            how = How.THREAD_ON if is_none_there else How.RETHREAD
            found.append(Mend((how,), ends + extra, 0, first, last))
    return tuple(sorted(found, key=lambda mend: mend.effort))


def _each_at_its_spot(slips: tuple[Slip, ...]) -> Mend:
    spots = [spot for slip in slips if (spot := _spot(slip))]
    return Mend(
        tuple(how for how, _, _ in spots),
        sum(ends for _, ends, _ in spots),
        sum(heddles for _, _, heddles in spots),
        min(slip.first for slip in slips),
        max(max(slip.first, slip.last) for slip in slips),
    )


def _spot(slip: Slip) -> tuple[How, int, int] | None:
    """Return how to mend one slip where it is, with ends and repair heddles; None: not there."""
    size = len(slip.planned)
    if slip.kind is SlipKind.SKIPPED_HEDDLE:
        return How.LEAVE, 0, 0
    if slip.kind in _TOO_MANY:
        return How.PULL_ENDS, slip.total_change, 0
    if slip.is_heddle_there:
        return How.THREAD_END, 1, 0
    if Counter(slip.planned) == Counter(slip.found):
        return How.SWAP_ENDS, size, 0
    # The ends of a unit left out are not in the lease there: they were drawn in further on.
    is_few = slip.kind is not SlipKind.UNIT_SKIPPED and size <= MOST_REPAIR_HEDDLES
    return (How.REPAIR_HEDDLE, size, size) if is_few else None


def dent_mend(slip: Slip, counts: tuple[int, ...]) -> Mend:
    """Return how to mend a slip of sleying: sley again from there to the nearer edge.

    Dents are from 1 on; `counts` are the ends planned in each dent sleyed so far.
    """
    is_doubled = slip.kind is SlipKind.DOUBLED_DENT
    before = sum(counts[: slip.first if is_doubled else slip.last])
    kept = sum(counts[: slip.last - 1 if is_doubled else slip.first - 1])
    total = sum(counts)
    if slip.kind is SlipKind.WRONG_DENT and sum(slip.planned) == sum(slip.found):
        return Mend((How.RESLEY,), before - kept, 0, kept + 1, before)
    if 0 < before <= total - kept:  # at an edge only a floating selvedge may lie before it
        return Mend((How.RESLEY,), before, 0, 1, before)
    return Mend((How.RESLEY,), total - kept, 0, kept + 1, total)
