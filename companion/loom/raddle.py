"""How the ends spread over the raddle's sections before the warp is beamed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.loom import measures
from companion.loom.dressing import RaddlePlan
from companion.loom.spread import centred, even_pattern, lay, spaces_needed
from companion.loom.warp import ends_in_heddles
from companion.plan.draft.ends import sett_per_inch

if TYPE_CHECKING:
    from fractions import Fraction

    from companion.plan.file.reader import Plan
    from companion.plan.schema import Raddle


def ends_per_section(plan: Plan, table: Raddle) -> Fraction:
    """Return the ends in a section, on average."""
    return sett_per_inch(plan.file.warp) / measures.sections_per_inch(table)


def bundles_per_section(plan: Plan, table: Raddle) -> Fraction:
    """Return the ends in a section, on average, in bundles of those wound together."""
    return ends_per_section(plan, table) / plan.file.warp.wound_together


def sections_needed(plan: Plan, table: Raddle) -> int:
    """Return the sections the warp takes."""
    together = plan.file.warp.wound_together
    bundles = -(-ends_in_heddles(plan) // together)
    return spaces_needed(bundles, bundles_per_section(plan, table), to_nearest=together > 1)


def sections_there(plan: Plan, table: Raddle) -> int | None:
    """Return the raddle's whole sections; None where its width is not known."""
    if table.width is None:
        return None
    return int(measures.inches(plan.file, table.width) * measures.sections_per_inch(table))


def raddle(plan: Plan) -> RaddlePlan | None:
    """Return the ends in every section used; the last section takes what is left over.

    Ends wound together crossed as one, so they stay in one section: at 16 ends an inch and two
    sections an inch the sections of a warp wound three together are of 6 and 9 ends, and wound
    five together of 5 and 10 (weavingfromparadise.guildford.nz, 21 July 2021). Up to any section
    there are then the bundles nearest to its share, so that the spread never lags behind.

    Doubled ends are spread as the rest; floating selvedges, which are often wound apart from the
    warp, are not in the raddle. The plan must have passed `companion.loom.check`.
    """
    table = plan.file.raddle
    if table is None:
        return None
    together = plan.file.warp.wound_together
    bundles = even_pattern(
        bundles_per_section(plan, table),
        limit=sections_needed(plan, table),
        to_nearest=together > 1,
    )
    counts = lay(tuple(together * count for count in bundles), ends_in_heddles(plan))
    there = sections_there(plan, table)
    before, after = (None, None) if there is None else centred(there, len(counts))
    return RaddlePlan(counts=counts, empty_before=before, empty_after=after)
