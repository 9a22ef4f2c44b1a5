"""How the ends lie in the reed: ends in each dent, and the warp centred in the reed.

With q = ends per inch / dents per inch = N/D in lowest terms, N ends lie in D dents, spread as
evenly as whole ends allow: the rule of "Sleying the Reed for Specific Setts" (interweave.com) and
of the formula in "Reed Substitution Chart" (schoolofsweetgeorgia.com), without its rounding.
"""

from dataclasses import replace
from fractions import Fraction

from companion.loom import measures
from companion.loom.dressing import Sley
from companion.loom.regions import body_counts, dents_of_body, has_even, regions, sett_per_dent
from companion.loom.remarks import LongOrder, NearSett, Remark
from companion.loom.spread import centred, even_pattern, written_pattern
from companion.plan.file.reader import Plan

SHORT_PATTERN = 12
"""Dents over which an order can still be kept in the head; our own choice."""


def ends_per_dent(plan: Plan) -> Fraction:
    """Return q: of the written order, if any, else of sett and reed; of regions it is the mean."""
    reed = plan.file.reed
    if reed.parts:
        return Fraction(plan.ends, dents_of_body(plan))
    if reed.sley is not None:
        pattern = written_pattern(reed.sley)
        return Fraction(sum(pattern), len(pattern))
    return sett_per_dent(plan)


def dents_needed(plan: Plan) -> int:
    """Return the dents the warp takes, floating selvedges included, without listing them."""
    return dents_of_body(plan) + 2 * plan.file.selvedges.floating


def reed_dents(plan: Plan) -> int:
    """Return the whole dents in the reed."""
    reed = plan.file.reed
    return int(plan.file.inches(reed.width) * reed.gauge)


def sley(plan: Plan) -> Sley:
    """Return how the ends of a checked plan lie, centred; an odd empty dent is on the far side."""
    reed, floating = plan.file.reed, plan.file.selvedges.floating
    edge, apart = (1,) * floating, regions(plan)
    counts = (*edge, *body_counts(plan), *edge)
    before, after = centred(reed_dents(plan), len(counts))
    return Sley(
        pattern=apart[0].pattern,
        counts=counts,
        floating=floating,
        first_dent=before + 1,
        empty_before=before,
        empty_after=after,
        reed_dents=reed_dents(plan),
        width=len(counts) / reed.gauge,
        regions=apart if reed.parts else (),
    )


def made_sett(plan: Plan) -> Fraction:
    """Return the ends per inch that the order in the reed truly makes."""
    return ends_per_dent(plan) * plan.file.reed.gauge


def notes(plan: Plan) -> list[Remark]:
    """Return remarks on an order too long to keep in the head, and on a sett only nearly met."""
    order, made, is_per_cm = plan.file.reed.sley, made_sett(plan), measures.is_per_cm(plan.file)
    if order is not None:
        planned = plan.file.warp.sett
        return [] if made == planned else [NearSett(order, made, planned, is_per_cm)]
    if plan.file.reed.parts and not has_even(plan):
        return []
    exact = sett_per_dent(plan)
    if exact.denominator <= SHORT_PATTERN:
        return []
    nearest = max(exact.limit_denominator(SHORT_PATTERN), Fraction(1, SHORT_PATTERN))
    short = even_pattern(nearest)
    sett = nearest * plan.file.reed.gauge
    return [LongOrder(exact.denominator, short, sett, is_per_cm)]


def begun_in(planned: Sley, first_dent: int) -> Sley | None:
    """Return the same ends in the reed from another of its dents on; None where they do not fit."""
    moved = first_dent - planned.first_dent
    before, after = planned.empty_before + moved, planned.empty_after - moved
    if min(before, after) < 0:
        return None
    return replace(planned, first_dent=first_dent, empty_before=before, empty_after=after)
