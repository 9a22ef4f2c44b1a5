"""The regions of a warp that is crammed here and spaced there: each with its own order in the reed.

Cramming more ends into some dents and leaving others empty is common practice, no source. A region
begins in a dent of its own.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import accumulate, chain, pairwise

from companion.base.text import counted
from companion.loom.dressing import Region
from companion.loom.spread import even_pattern, lay, spaces_needed, written_pattern
from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.equipment import ReedPart
from companion.plan.fault import Fault
from companion.plan.file.reader import Plan
from companion.plan.values import MAX_ENDS

_PATH = ("reed", "parts")


def region_faults(plan: Plan) -> Iterator[Fault]:
    """Yield what keeps the regions from being laid: their ends, or empty dents at an edge."""
    parts, ends = plan.file.reed.parts, plan.ends
    came = _ends_of(parts)
    if came != ends:
        verb = "Add" if came < ends else "Take out"
        yield Fault(
            _PATH,
            f"expected regions for {counted(ends, 'end')} in the heddles, and they come to {came}",
            f"{verb} {counted(abs(ends - came), 'end')}",
        )
    elif total(_stretches(parts)) > MAX_ENDS:
        yield Fault(_PATH, f"expected at most {MAX_ENDS} regions", "Write fewer")
    else:
        laid = _laid(plan)
        for part in (laid[0], laid[-1]):
            if part.empty:
                yield Fault(
                    _PATH,
                    f"expected ends at both edges, and {counted(part.empty, 'empty dent')} there",
                    "Take them out, since the reed is empty beside the warp anyway",
                )
                return


def body_counts(plan: Plan) -> tuple[int, ...]:
    """Return the ends in every dent from the first end to the last; 0 is a dent left empty."""
    return tuple(chain.from_iterable(_counts(plan, part) for part in _laid(plan)))


def has_even(plan: Plan) -> bool:
    """Return whether some region has no order of its own, so that it comes to the warp's sett."""
    return any(part.ends and part.sley is None for part in _laid(plan))


def dents_of_body(plan: Plan) -> int:
    """Return how many dents lie from the first end to the last, without listing them."""
    return sum(part.times * _dents(plan, part) for part in _parts(plan))


def regions(plan: Plan) -> tuple[Region, ...]:
    """Return the regions in order; a warp in one order throughout is one."""
    laid, floating = _laid(plan), plan.file.selvedges.floating
    ends = pairwise(accumulate((part.ends or 0 for part in laid), initial=0))
    dents = pairwise(accumulate((_dents(plan, part) for part in laid), initial=floating))
    per_inch = plan.file.reed.gauge
    return tuple(
        Region(
            first_end + 1, last_end, first_dent + 1, last_dent, pattern,
            Fraction(sum(pattern), len(pattern)) * per_inch,
        )
        for part, (first_end, last_end), (first_dent, last_dent) in zip(
            laid, ends, dents, strict=True
        )
        if part.ends
        for pattern in [_pattern(plan, part)]
    )  # fmt: skip


def _stretches(parts: Sequence[ReedPart]) -> tuple[Stretch[ReedPart], ...]:
    return tuple(
        stretch_around(_stretches(part.parts), part.times)
        if part.parts
        else stretch_of((part,), part.times)
        for part in parts
    )


def _parts(plan: Plan) -> tuple[ReedPart, ...]:
    reed = plan.file.reed
    return reed.parts or (ReedPart.model_construct(ends=plan.ends, sley=reed.sley),)


def _laid(plan: Plan) -> tuple[ReedPart, ...]:
    return written(_stretches(_parts(plan)))


def _ends_of(parts: Sequence[ReedPart]) -> int:
    return sum(part.times * (part.ends or _ends_of(part.parts or ())) for part in parts)


def _dents(plan: Plan, part: ReedPart) -> int:
    """Return the dents of one pass of a part; nothing is listed that the reed might not hold."""
    if part.parts:
        return sum(inner.times * _dents(plan, inner) for inner in part.parts)
    if part.ends is None:
        return part.empty or 0
    if part.sley is None:
        return spaces_needed(part.ends, sett_per_dent(plan))
    pattern = written_pattern(part.sley)
    passes, rest = divmod(part.ends - 1, sum(pattern))
    return passes * len(pattern) + len(lay(pattern, rest + 1))


def _counts(plan: Plan, part: ReedPart) -> tuple[int, ...]:
    if part.empty:
        return (0,) * part.empty
    return lay(_pattern(plan, part), part.ends or 1)


def _pattern(plan: Plan, part: ReedPart) -> tuple[int, ...]:
    if part.sley is not None:
        return written_pattern(part.sley)
    return even_pattern(sett_per_dent(plan), part.ends or 1)


def sett_per_dent(plan: Plan) -> Fraction:
    """Return the ends in each dent, on average, that make the planned sett."""
    return plan.file.warp.sett / plan.file.reed.gauge
