"""Lengths and setts in inches, as the plan writes them and as messages tell them."""

from fractions import Fraction

from companion.base.text import decimal, ends_per, mixed, noun_for
from companion.plan.schema import PlanFile
from companion.yarn.counts import CM_PER_INCH


def as_written(value: Fraction) -> str:
    """Return a figure as a plan file takes it, exactly: 15, 12.5 or "16 2/3"."""
    if (value * 100).denominator == 1:
        return decimal(value)
    return f'"{mixed(value)}"'


def in_units(file: PlanFile, length: Fraction) -> str:
    """Return a length given in inches in the plan's own units, "24 inches" or "61 cm"."""
    if file.units == "metric":
        return f"{decimal(length * CM_PER_INCH)} cm"
    return f"{decimal(length)} {noun_for(length, 'inch')}"


def is_per_cm(file: PlanFile) -> bool:
    """Return whether the plan's file writes setts by the centimetre."""
    return file.warp.ends_per_cm is not None


def sett_words(sett: Fraction, is_per_cm: bool) -> str:  # noqa: FBT001 - what is told
    """Return a sett given by the inch, by the inch or by the centimetre."""
    return ends_per("cm", sett / CM_PER_INCH) if is_per_cm else ends_per("inch", sett)
