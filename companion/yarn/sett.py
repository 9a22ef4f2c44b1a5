"""How close a yarn can be set in a weave.

A pick that goes from one side of the cloth to the other needs room for itself between two ends, so
of all the threads that fit side by side the ends are E in E + I, where a repeat has E ends and the
weft crosses I times in it. The closest sett is the sett at which they all touch; cloth is mostly
woven wider.

Sources: T. R. Ashenhurst, A Treatise on Textile Calculations and the Structure of Fabrics (1884),
as given on faena.medievaltextiles.org/ash.html (1999) and by P. Osterkamp, "Ashenhurst's Rule"
(peggyosterkamp.com); J. T. Taylor, Cotton Weaving and Designing, 6th edition, on diameters and on
changing the weave of a cloth.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from companion.base.text import quoted
from companion.yarn.counts import YarnError

USUAL_K = Fraction(9, 10)
"""Ashenhurst's factor for firm yarns. What sources give: 0.84 or 0.85 for soft woollen, 0.90 for
worsted, and for cotton 0.90, 0.92 and 0.95 (the last is Taylor's "less 5 per cent")."""
USUAL_SHARE = Fraction(3, 4)
"""What part of the closest sett makes a good working one, "or slightly more" (faena, as above)."""
_FINENESS = 10**6


class Weave(NamedTuple):
    """How often a weft crosses from side to side in one repeat across the warp."""

    ends: Fraction
    """Ends in the repeat, above 0."""
    crossings: Fraction
    """Times the weft changes side in it, 0 or more; the mean where picks differ."""

    @property
    def ends_share(self) -> Fraction:
        """Which part of the threads side by side can be ends."""
        return self.ends / (self.ends + self.crossings)


PLAIN = Weave(Fraction(2), Fraction(2))
_FLOATS = re.compile(r"[0-9]{1,3}(/[0-9]{1,3})+")
_LONGEST = 200


def read_weave(text: str) -> Weave:
    """Return the weave of "plain", "2/2" or "1/1/2/2": ends over, under, over; else YarnError."""
    plain = text.strip().casefold()
    if plain == "plain":
        return PLAIN
    floats = plain.split("/") if _FLOATS.fullmatch(plain) and len(plain) <= _LONGEST else ["0"]
    if len(floats) % 2 or "0" in {each.lstrip("0") or "0" for each in floats}:
        raise YarnError(
            f"expected a weave, as the ends that the weft passes over and under by turns, not "
            f"{quoted(text)}",
            "Write plain, 2/2, 3/1 or the like; a satin on five ends is 4/1",
        )
    return Weave(Fraction(sum(map(int, floats))), Fraction(len(floats)))


def mean_weave(rows: Iterable[int], ends: int) -> Weave:
    """Return the weave of a drawdown, with the mean of its picks' crossings.

    Each row, at least one, has a bit for each end, 1 where the warp is up; `ends` are those of one
    repeat of the threading, which is taken to go on at its edges; bits beyond it are left out.
    """
    crossings = picks = 0
    for row, times in Counter(row & ((1 << ends) - 1) for row in rows).items():
        turned = row >> 1 | (row & 1) << (ends - 1)
        crossings += times * (row ^ turned).bit_count()
        picks += times
    return Weave(Fraction(ends), Fraction(crossings, picks))


def threads_side_by_side(yards_per_pound: Fraction, k: Fraction = USUAL_K) -> Fraction:
    """Return how many threads lie side by side in an inch, D = K x sqrt(yards per pound).

    It is below the true root by less than a millionth. `k` is Ashenhurst's factor for the yarn.
    """
    return Fraction(math.isqrt(math.floor(k * k * yards_per_pound * _FINENESS**2)), _FINENESS)


def closest_sett(side_by_side: Fraction, weave: Weave) -> Fraction:
    """Return the sett at which ends and crossing wefts touch, in a square cloth of one yarn.

    `side_by_side` is from `threads_side_by_side`, or counted by wrapping the yarn round a ruler,
    which gives fewer.
    """
    return side_by_side * weave.ends_share


def as_firm(sett: Fraction, old: Weave, new: Weave) -> Fraction:
    """Return the sett at which a new weave of the same yarn is as firm as an old one was."""
    return sett / old.ends_share * new.ends_share
