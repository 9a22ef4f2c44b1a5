"""Winding a warp straight onto a beam that is divided into sections, one section after the other.

Each section takes the ends that lie over its width, from as many packages, and as many turns as
the others: common practice, no source. Turns are rounded up, since the warp must not come short;
each layer makes the next turn longer, so there is never less than is told.
"""

import math
from collections.abc import Iterator
from fractions import Fraction

from companion.loom.dressing import SectionPlan, Yarns
from companion.loom.sley import made_sett
from companion.loom.spread import centred, even_pattern, lay, spaces_needed
from companion.plan.fault import Fault, Path
from companion.plan.file.reader import Plan

_PATH: Path = ("beam", "section_width")


def section_faults(plan: Plan) -> Iterator[Fault]:
    """Yield what keeps a warp from being wound on in sections."""
    table = plan.file.beam
    if table is None or table.section_width is None:
        return
    if plan.file.loom.method == "front-to-back":
        yield Fault(
            _PATH,
            "expected a loom dressed from back to front for a beam in sections, found "
            "front-to-back",
            'Write method = "back-to-front" under [loom], or take section_width out',
        )
    if plan.file.second_beam is not None:
        yield Fault(
            _PATH,
            "expected one warp for a beam in sections, and there is a second beam",
            "Take out section_width or second_beam",
        )
    if plan.file.length is None:
        yield Fault(
            _PATH,
            "expected [length] for the turns of each section to go by, and there is none",
            "Add [length], or take section_width out",
        )
    needed = spaces_needed(plan.ends, _ends_each(plan, table.section_width))
    if table.sections is not None and needed > table.sections:
        yield Fault(
            ("beam", "sections"),
            f"expected a warp within the beam's {table.sections} sections, but "
            f"{plan.ends} ends take {needed}",
            "Use a wider beam, fewer ends or a closer sett",
        )


def _ends_each(plan: Plan, width: Fraction) -> Fraction:
    return made_sett(plan) * plan.file.inches(width)


def sections(plan: Plan, yarns: Yarns | None) -> SectionPlan | None:
    """Return the ends and turns of every section of a plan that was checked; None without any."""
    table = plan.file.beam
    if table is None or table.section_width is None or yarns is None:
        return None
    each, ends = _ends_each(plan, table.section_width), plan.ends
    counts = lay(even_pattern(each, ends), ends)
    turns = math.ceil(yarns.length.total / plan.file.inches(table.around))
    if table.sections is None:
        return SectionPlan(counts, None, None, turns)
    return SectionPlan(counts, *centred(table.sections, len(counts)), turns=turns)
