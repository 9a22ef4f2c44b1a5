"""How the ends spread over the raddle's sections before the warp is beamed."""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor

from companion.loom.dressing import RaddlePlan
from companion.loom.regions import body_counts
from companion.loom.sley import dents_needed
from companion.loom.spread import even_pattern, lay, space_of_each, spaces_needed
from companion.plan.equipment import Raddle
from companion.plan.file.reader import Plan


def bundles_per_section(plan: Plan, table: Raddle) -> Fraction:
    """Return the ends in a section, on average, in bundles of those wound together."""
    ends = plan.file.warp.sett / table.gauge
    return ends / plan.file.warp.wound_together


def _sections_per_dent(plan: Plan, table: Raddle) -> Fraction:
    return table.gauge / plan.file.reed.gauge


def sections_needed(plan: Plan, table: Raddle) -> int:
    """Return the sections the warp takes; two warps both lie over the whole width."""
    if plan.file.second_beam is not None:
        per_dent = _sections_per_dent(plan, table)
        return int((dents_needed(plan) - 2 * plan.file.selvedges.floating - 1) * per_dent) + 1
    if plan.file.reed.parts:
        return len(_over_the_dents(plan, table).counts)
    together = plan.file.warp.wound_together
    bundles = -(-plan.ends // together)
    return spaces_needed(bundles, bundles_per_section(plan, table), to_nearest=together > 1)


def sections_there(plan: Plan, table: Raddle) -> int | None:
    """Return the raddle's whole sections; None where its width is not known."""
    if table.width is None:
        return None
    return int(plan.file.inches(table.width) * table.gauge)


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
    if plan.file.reed.parts:
        return _over_the_dents(plan, table)
    ends, per_section = plan.ends, bundles_per_section(plan, table)
    bundles = even_pattern(per_section, -(-ends // together), to_nearest=together > 1)
    counts = lay(tuple(together * count for count in bundles), ends)
    return _centred(plan, table, counts, ends / (together * per_section))


def _centred(plan: Plan, table: Raddle, counts: tuple[int, ...], across: Fraction) -> RaddlePlan:
    """Lay the sections so that the warp, which need not fill the last one, is nearest the centre.

    `across` is how many sections it is wide. A tie leaves fewer empty at the first end's edge.
    """
    there = sections_there(plan, table)
    half = max(1, floor(across / 2 + Fraction(1, 2)))
    if there is None:
        return RaddlePlan(counts=counts, empty_before=None, empty_after=None, half=half)
    before = ceil((there - across) / 2 - Fraction(1, 2))
    return RaddlePlan(counts, before, there - before - len(counts), half)


def raddle_of(plan: Plan, dents: Sequence[int], floating: int) -> RaddlePlan | None:
    """Return the sections of one warp of two, over the whole width: each end above its dent.

    `dents` has the dent of each end; `floating` the floating selvedges on each side.
    """
    table = plan.file.raddle
    if table is None:
        return None
    per_dent = _sections_per_dent(plan, table)
    held = _held([dent - floating - 1 for dent in dents], per_dent, plan.file.warp.wound_together)
    counts = tuple(held[section] for section in range(sections_needed(plan, table)))
    return _centred(plan, table, counts, (dents_needed(plan) - 2 * floating) * per_dent)


def _held(dents: Sequence[int], per_dent: Fraction, together: int) -> Counter[int]:
    """Return the ends of each section; a bundle lies where its first end does."""
    return Counter(int(dents[at - at % together] * per_dent) for at in range(len(dents)))


def _over_the_dents(plan: Plan, table: Raddle) -> RaddlePlan:
    """Lay the ends of each section over which their dents lie, where regions are crammed.

    A bundle of ends wound together lies where its first end does.
    """
    per_dent = _sections_per_dent(plan, table)
    dents = space_of_each(body_counts(plan), first=0)
    held = _held(dents, per_dent, plan.file.warp.wound_together)
    counts = tuple(held[section] for section in range(max(held) + 1))
    return _centred(plan, table, counts, (max(dents) + 1) * per_dent)
