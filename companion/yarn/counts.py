"""Yarn sizes: the count systems, their plied notations, and exact conversion between them.

Every system is held to metres in a kilogram. An indirect count says how many lengths weigh a unit
(the higher, the finer); a direct number says what a length weighs (the higher, the thicker). All
factors follow from 1 yard = 0.9144 m and 1 lb = 0.45359237 kg, both exact, as in ASTM D2260-03
(2013), Table 1, which agrees with ISO 2947. Tex is that of ISO 1144.
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from companion.base.errors import CompanionError, UnfitTextError
from companion.base.text import quoted
from companion.base.value import Value

CM_PER_INCH = Fraction(254, 100)
"""Exact by the international yard and pound agreement of 1959."""
METRES_PER_YARD = Fraction(9144, 10_000)
KILOGRAMS_PER_POUND = Fraction(45_359_237, 100_000_000)
YARDS_PER_POUND = METRES_PER_YARD / KILOGRAMS_PER_POUND
"""One yard in a pound, as metres in a kilogram."""
MAX_COUNT = 1_000_000
"""A guard against slips; the finest silk has some hundred thousand metres in a kilogram."""

Plied = Literal["count/plies", "plies/count", "number x plies", ""]


class YarnError(CompanionError, UnfitTextError):
    """A text about yarn that cannot be read."""


class System(Value):
    """A way of numbering yarns."""

    name: str
    constant: Fraction
    """Metres in a kilogram of number 1; a direct number says the grams of a thousandth of them."""
    plied: Plied = ""
    """How a plied yarn is written; "" where only the whole yarn is numbered."""
    aliases: tuple[str, ...] = ()
    is_direct: bool = False
    """Whether its numbers rise with the weight of a length, not with the length of a weight."""


SYSTEMS = (
    System("cotton", 840 * YARDS_PER_POUND, "count/plies", ("ne", "nec")),
    System("worsted", 560 * YARDS_PER_POUND, "plies/count", ("nek",)),
    System("linen", 300 * YARDS_PER_POUND, "count/plies", ("lea", "linen lea", "nel")),
    System("woollen run", 1600 * YARDS_PER_POUND, aliases=("run", "woolen run")),
    System("woollen cut", 300 * YARDS_PER_POUND, aliases=("cut", "woolen cut")),
    System("metric", Fraction(1000), "count/plies", ("nm",)),
    System("tex", Fraction(1_000_000), "number x plies", is_direct=True),
    System("denier", Fraction(9_000_000), "number x plies", ("den",), is_direct=True),
    System("yd/lb", YARDS_PER_POUND, aliases=("yards per pound",)),
    System("m/kg", Fraction(1), aliases=("metres per kilogram", "meters per kilogram")),
    System(
        "m/100g", Fraction(10), aliases=("m/100 g", "metres per 100 grams", "meters per 100 grams")
    ),
)
"""The lengths of the hanks and the order of plied counts are those of the trade: 8/2 cotton is two
plies of count 8, 2/20 worsted two plies of count 20 (B. Elkins, "What Do the Numbers Mean in Coned
Yarns?", blog.yarn.com, 5 June 2012); a direct number of several plies is written 30 x 2 (ISO 1139,
from memory)."""

_BY_NAME = {alias: system for system in SYSTEMS for alias in (system.name, *system.aliases)}


class Size(Value):
    """A yarn's size as its label gives it."""

    count: Fraction
    """The number of one ply, above 0."""
    plies: int
    system: System

    @property
    def metres_per_kilogram(self) -> Fraction:
        """The length of the whole yarn, less nothing for what twisting the plies takes up."""
        if self.system.is_direct:
            return self.system.constant / (self.count * self.plies)
        return self.system.constant * self.count / self.plies

    @property
    def yards_per_pound(self) -> Fraction:
        """The length of the whole yarn."""
        return self.metres_per_kilogram / YARDS_PER_POUND

    def number_in(self, system: System) -> Fraction:
        """Return the number of the whole yarn, as one thread, in another system."""
        if system.is_direct:
            return system.constant / self.metres_per_kilogram
        return self.metres_per_kilogram / system.constant

    def __str__(self) -> str:
        return f"{_numbers(self.count, self.plies, self.system)} {self.system.name}"


def _numbers(count: Fraction, plies: int, system: System) -> str:
    number = f"{Decimal(count.numerator) / Decimal(count.denominator):f}"
    if plies == 1:
        return number
    if system.plied == "number x plies":
        return f"{number} x {plies}"
    return f"{plies}/{number}" if system.plied == "plies/count" else f"{number}/{plies}"


def find_system(name: str) -> System:
    """Return the system called `name`; YarnError, which names them, where there is none."""
    system = _BY_NAME.get(_plain(name))
    if system is None:
        raise YarnError(
            f"expected a count system, not {quoted(name)}",
            f"Write one of {', '.join(each.name for each in SYSTEMS)}; the label or the maker "
            "tells which, since silk and wool are sold by several",
        )
    return system


_NUMBER = r"(?P<one>[0-9]{1,9}(?:\.[0-9]{1,9})?)(?:'?s(?=[\s/]|$))?"
_PLIED = (
    rf"{_NUMBER}(?:\s*(?P<by>[/x])\s*(?P<two>[0-9]{{1,9}}(?:\.[0-9]{{1,9}})?)(?:'?s(?=\s|$))?)?"
)
_BEFORE = rf"{_PLIED}\s*(?P<system>[^\W\d_].*)?"
_AFTER = rf"(?P<system>[^\W\d_].*?)\s*{_PLIED}"
_LONGEST = 60
_EXAMPLE = 'Write it as in "8/2 cotton", "2/20 worsted", "30 tex" or "3360 yd/lb"'


def read_size(text: str) -> Size:
    """Return the size that a text such as "8/2 cotton", "2/20 worsted" or "30 tex" writes.

    The system must be named, since the same figures mean other yarns in other systems. The trade
    also writes 2/8 for 8/2; where the figures cannot be in the system's own order, the text is
    refused and not guessed at. Raises YarnError, which tells how to write it.
    """
    plain = _plain(text)
    match = re.fullmatch(_BEFORE, plain) or re.fullmatch(_AFTER, plain)
    if match is None or len(plain) > _LONGEST:
        raise YarnError(f"expected a yarn's size, not {quoted(text)}", _EXAMPLE)
    if match["system"] is None:
        raise YarnError(
            f"expected the count system after {quoted(text)}, since it means other yarns in others",
            _EXAMPLE,
        )
    system = find_system(match["system"])
    count, plies = _count_and_plies(match["one"], match["by"], match["two"], system)
    size = Size(count, plies, system)
    if not 0 < count <= MAX_COUNT:
        raise YarnError(
            f"expected a number above 0 and at most {MAX_COUNT:,}, not {quoted(text)}", _EXAMPLE
        )
    return size


def _count_and_plies(
    one: str, by: str | None, two: str | None, system: System
) -> tuple[Fraction, int]:
    if by is None or two is None:
        return Fraction(one), 1
    if (by == "/") != ("/" in system.plied):
        raise _not_plied(one, by, two, system)
    first, second = (two, one) if system.plied == "plies/count" else (one, two)
    count, plies = Fraction(first), Fraction(second)
    if plies.denominator != 1 or not plies:
        raise YarnError(
            f"expected a whole number of plies, not {second}", "Write it as in 8/2 or 2/20"
        )
    if not system.is_direct and plies > count:
        raise _turned(one, two, system)
    return count, int(plies)


def _not_plied(one: str, by: str, two: str, system: System) -> YarnError:
    name = system.name
    mends: dict[Plied, str] = {
        "number x plies": f"Write {one} x {two} {name}, or the number of the whole yarn",
        "plies/count": f"Write it as in 2/20 {name}",
        "count/plies": f"Write it as in 8/2 {name}",
        "": f"Write the number of the whole yarn, as in {one} {name}",
    }
    fault = f"expected {name} written as {system.plied or 'one number'}, not {one}{by}{two}"
    return YarnError(fault, mends[system.plied])


def _turned(one: str, two: str, system: System) -> YarnError:
    """Say that the figures may stand the other way round."""
    count, plies = (two, one) if system.plied == "plies/count" else (one, two)
    return YarnError(
        f"expected {system.name} written as {system.plied}, and {one}/{two} would be {plies} plies "
        f"of count {count}",
        f"Write {two}/{one} {system.name} if that is the yarn; labels write it both ways",
    )


def _plain(text: str) -> str:
    return " ".join(text.replace("\u00d7", "x").split()).casefold()
