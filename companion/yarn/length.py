"""How long a warp must be for what is wanted from it.

Take-up and shrinkage are shares of the longer length, so what is wanted is divided by what is left
of it. Adding the share to the shorter length instead comes out short: 10 inches wanted with 20 per
cent shrinkage take 12.5 inches, and 12 would finish at 9.6 (Conference of Northern California
Handweavers, "Ratios, Rationale, and Rate of Shrinkage", CNCHNet, autumn 2016).
"""

import math
import re
from fractions import Fraction

from companion.base.text import quoted
from companion.base.value import Value
from companion.yarn.counts import YarnError

MOST_SHARE = Fraction(9, 10)
"""A guard against slips; cloth fulled as hard as can be keeps more than a tenth of its length."""

_SHARE = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,9})?) ?%")


def read_share(text: str) -> Fraction:
    """Return the share, up to 90 %, that a text with a per cent sign writes: "10 %" is 1/10.

    A bare number is refused by YarnError, since 0.1 and 10 may both be meant for ten in a hundred.
    """
    match = _SHARE.fullmatch(text.strip())
    share = Fraction(match[1]) / 100 if match else None
    if share is None or share > MOST_SHARE:
        raise YarnError(
            f'expected a share from "0 %" to "90 %" with its per cent sign, not {quoted(text)}',
            'Write it as in "10 %"',
        )
    return share


class WantedCloth(Value):
    """What a warp is to give; every length in one unit, whichever it is."""

    finished: Fraction
    """The length of each piece when finished, between its hems."""
    take_up: Fraction
    """The share of the warp that the bends of weaving take: 0 <= take_up < 1."""
    shrinkage: Fraction
    """The share of the woven length, off the loom, that finishing takes: 0 <= shrinkage < 1."""
    loom_waste: Fraction
    """Warp that cannot be woven, at both ends together."""
    pieces: int = 1
    hem: Fraction = Fraction(0)
    """Finished length turned in, or frayed out, at each end of each piece."""
    fringe: Fraction = Fraction(0)
    """Warp left unwoven for a fringe at each end of each piece."""
    gap: Fraction = Fraction(0)
    """Warp left unwoven between one piece and the next, besides fringes."""
    sample: Fraction = Fraction(0)
    """Warp set aside to weave a sample from."""


class WarpLength(Value):
    """The length of every end, and what it goes into; all in the unit of `WantedCloth`."""

    cloth_each: Fraction
    """What to weave for one piece, measured off the loom and before washing."""
    warp_each: Fraction
    """The warp that is woven into one piece."""
    unwoven: Fraction
    """Fringes and gaps of all pieces together."""
    sample: Fraction
    loom_waste: Fraction
    total: Fraction
    woven: Fraction
    """All cloth, the sample's too, measured off the loom and before washing."""


def warp_length(wanted: WantedCloth) -> WarpLength:
    """Return how long every end must be."""
    cloth_each = (wanted.finished + 2 * wanted.hem) / (1 - wanted.shrinkage)
    warp_each = cloth_each / (1 - wanted.take_up)
    unwoven = 2 * wanted.pieces * wanted.fringe + (wanted.pieces - 1) * wanted.gap
    return WarpLength(
        cloth_each=cloth_each,
        warp_each=warp_each,
        unwoven=unwoven,
        sample=wanted.sample,
        loom_waste=wanted.loom_waste,
        total=wanted.pieces * warp_each + unwoven + wanted.sample + wanted.loom_waste,
        woven=wanted.pieces * cloth_each + wanted.sample * (1 - wanted.take_up),
    )


def rounded_up(length: Fraction, step: Fraction) -> Fraction:
    """Return the least whole number of steps that is no shorter than `length`."""
    return math.ceil(length / step) * step
