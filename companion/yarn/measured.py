"""Lengths and weights in the units of a plan, as they are written for a person."""

from fractions import Fraction

from companion.base.text import ruler
from companion.yarn.counts import CM_PER_INCH, METRES_PER_YARD
from companion.yarn.length import rounded_up
from companion.yarn.need import KILOGRAMS_PER_OUNCE


def measure(inches: Fraction, units: str) -> str:
    """Return a length with its unit: a ruler's fraction where exact, else two decimals."""
    value, unit = (inches, "in") if units == "inch" else (inches * CM_PER_INCH, "cm")
    return f"{ruler(value)} {unit}"


def long_measure(inches: Fraction, units: str) -> str:
    """Return a length to wind, in the plan's unit and in yards or metres."""
    return f"{measure(inches, units)}, {long_unit(inches, units)}"


def long_unit(inches: Fraction, units: str) -> str:
    """Return a length in yards or metres, as the plan is in inches or centimetres."""
    if units == "metric":
        return f"{ruler(inches * CM_PER_INCH / 100)} m"
    return f"{ruler(inches / 36)} yd"


def density(per_inch: Fraction, units: str) -> str:
    """Return how close ends are, "12 ends per inch", or by the cm in a metric plan."""
    if units == "metric":
        return f"{ruler(per_inch / CM_PER_INCH)} ends per cm"
    return f"{ruler(per_inch)} ends per inch"


def gauge(dents_per_inch: Fraction, units: str) -> str:
    """Return how close a reed's dents are, by the inch, or by 10 cm in a metric plan."""
    if units == "metric":
        return f"{ruler(dents_per_inch / CM_PER_INCH * 10)} dents per 10 cm"
    return f"{ruler(dents_per_inch)} dents per inch"


def yardage(metres: Fraction, units: str) -> str:
    """Return a length of yarn rounded up, so that there is never less than said."""
    unit, name = (Fraction(1), "m") if units == "metric" else (METRES_PER_YARD, "yd")
    return f"{rounded_up(metres, unit) / unit} {name}"


def weight(kilograms: Fraction, units: str) -> str:
    """Return a weight rounded up to a gram or an ounce."""
    if units == "metric":
        return f"{rounded_up(kilograms * 1000, Fraction(1))} g"
    pounds, ounces = divmod(int(rounded_up(kilograms / KILOGRAMS_PER_OUNCE, Fraction(1))), 16)
    return " ".join(
        f"{amount} {name}" for amount, name in ((pounds, "lb"), (ounces, "oz")) if amount
    )
