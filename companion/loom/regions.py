"""The regions of a warp that is crammed here and spaced there: each with its own order in the reed.

Cramming more ends into some dents and leaving others empty is common practice, no source. A region
begins in a dent of its own.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import accumulate, chain, pairwise

from companion.base.text import counted
from companion.loom.dressing import Region
from companion.loom.spread import even_pattern, lay, written_pattern
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


def dents_of_regions(plan: Plan) -> int:
    """Return how many dents the regions take, without listing them."""
    return _dents_of(plan, plan.file.reed.parts)


def regions(plan: Plan) -> tuple[Region, ...]:
    """Return the regions in order; () where the plan has none."""
    laid, floating = _laid(plan), plan.file.selvedges.floating
    ends = pairwise(accumulate((part.ends or 0 for part in laid), initial=0))
    dents = pairwise(accumulate((len(_counts(plan, part)) for part in laid), initial=floating))
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


def _laid(plan: Plan) -> tuple[ReedPart, ...]:
    return written(_stretches(plan.file.reed.parts))


def _ends_of(parts: Sequence[ReedPart]) -> int:
    return sum(part.times * (part.ends or _ends_of(part.parts or ())) for part in parts)


def _dents_of(plan: Plan, parts: Sequence[ReedPart]) -> int:
    return sum(
        part.times * (_dents_of(plan, part.parts) if part.parts else len(_counts(plan, part)))
        for part in parts
    )


def _counts(plan: Plan, part: ReedPart) -> tuple[int, ...]:
    if part.empty:
        return (0,) * part.empty
    return lay(_pattern(plan, part), part.ends or 1)


def _pattern(plan: Plan, part: ReedPart) -> tuple[int, ...]:
    if part.sley is not None:
        return written_pattern(part.sley)
    per_dent = plan.file.warp.sett / plan.file.reed.gauge
    return even_pattern(per_dent, part.ends or 1)
