"""How much yarn a cloth takes, in length, weight and whole packages."""

import math
import re
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from companion.base.text import quoted
from companion.yarn.counts import KILOGRAMS_PER_POUND, METRES_PER_YARD, Size, YarnError

METRES_PER_INCH = METRES_PER_YARD / 36
KILOGRAMS_PER_OUNCE = KILOGRAMS_PER_POUND / 16

_KILOGRAMS = {
    "g": Fraction(1, 1000),
    "kg": Fraction(1),
    "oz": KILOGRAMS_PER_OUNCE,
    "lb": KILOGRAMS_PER_POUND,
}
_METRES = {"m": Fraction(1), "yd": METRES_PER_YARD}
_PACKAGE = r"([0-9]{1,9}(?:\.[0-9]{1,9})?) ?([a-z]{1,2})"


class Package(NamedTuple):
    """A cone, skein or ball as it is sold: by its weight or by its length."""

    text: str
    kilograms: Fraction | None
    metres: Fraction | None


class Need(NamedTuple):
    """The yarn that one use of it takes."""

    metres: Fraction
    kilograms: Fraction
    packages: int | None
    """Whole packages; None where no package is known."""


def read_package(text: str) -> Package:
    """Return the package that a text such as "250 g", "8 oz" or "400 m" writes, or YarnError."""
    match = re.fullmatch(_PACKAGE, text.strip().casefold())
    if match is None or not Fraction(match[1]) or match[2] not in _KILOGRAMS | _METRES:
        raise YarnError(
            f"expected a cone's or skein's weight in g, kg, oz or lb or its length in m or yd, not "
            f"{quoted(text)}",
            'Write it as in "250 g", "8 oz" or "400 m"',
        )
    amount, unit = Fraction(match[1]), match[2]
    weight, length = _KILOGRAMS.get(unit), _METRES.get(unit)
    return Package(
        f"{match[1]} {unit}",
        None if weight is None else amount * weight,
        None if length is None else amount * length,
    )


def need(
    metres: Fraction, size: Size, *, extra: Fraction = Fraction(0), package: Package | None = None
) -> Need:
    """Return what to have of a yarn.

    Args:
        metres: the yarn that the cloth takes, as computed.
        size: the yarn's size.
        extra: a share of that to have over, for knots, breaks and changes of colour.
        package: what it is sold in.
    """
    metres *= 1 + extra
    kilograms = metres / size.metres_per_kilogram
    return Need(
        metres, kilograms, None if package is None else _packages(metres, kilograms, package)
    )


def _packages(metres: Fraction, kilograms: Fraction, package: Package) -> int:
    if package.kilograms is not None:
        return math.ceil(kilograms / package.kilograms)
    return math.ceil(metres / (package.metres or 1))


def picks_in(woven: Fraction, per_unit: Fraction) -> int:
    """Return the picks in a length off the loom, before washing; one begun is counted whole."""
    return math.ceil(woven * per_unit)


def weft_length(picks: int, width: Fraction, take_up: Fraction) -> Fraction:
    """Return the weft in so many picks, in the unit of `width`, which is that in the reed.

    The take-up is the share of the weft that its own bends and slack take: 0 <= take_up < 1.
    """
    return picks * width / (1 - take_up)


def shared(picks: int, shares: Sequence[int]) -> tuple[int, ...]:
    """Return the picks of each weft where they take turns in such shares, each rounded up."""
    return tuple(math.ceil(Fraction(picks * share, sum(shares))) for share in shares)
