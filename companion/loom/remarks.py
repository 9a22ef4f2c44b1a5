"""What there is to remark on a plan that can be dressed: fields, worded elsewhere."""

from fractions import Fraction

from companion.base.value import Value
from companion.loom.dressing import ShaftHeddles


class Remark(Value):
    """Advice that does not stop the work."""


class Tolerated(Remark):
    """Something odd in the file of a draft."""

    text: str
    """As its reader tells it, without a full stop."""


class WidthUnfilled(Remark):
    """Whole passes of the threading hold other than what the width takes."""

    asked: int
    there: int


class NearSett(Remark):
    """A written order in the reed makes nearly the planned sett."""

    order: str
    made: Fraction
    """Ends per inch."""
    planned: Fraction
    is_per_cm: bool


class LongOrder(Remark):
    """The exact order in the reed is too long to keep in the head."""

    dents: int
    """After which it comes round."""
    order: tuple[int, ...]
    """The nearest short one."""
    made: Fraction
    """Ends per inch that the short one makes."""
    is_per_cm: bool


class Lopsided(Remark):
    """One half of a shaft carries far more heddles than the other."""

    row: ShaftHeddles
    near: str
    """The edge of the first end."""
    far: str


class IdleShafts(Remark):
    """Shafts of the loom that the threading does not use."""

    shafts: tuple[int, ...]


class ManyBalanced(Remark):
    """A counterbalance loom with other than four shafts."""

    shafts: int


class FrontInOnePass(Remark):
    """A warp from the front that is threaded and sleyed in one pass."""


class UnevenSheds(Remark):
    """Sheds that a counterbalance loom opens unevenly."""

    sheds: int


class LongPieces(Remark):
    """Whole repeats of the treadling make the pieces longer than the warp is wound for."""

    picks: int
    """Of each piece."""
    woven: Fraction
    """How long a piece comes out, in inches off the loom."""
    planned: Fraction
    short: Fraction
    """Warp that would be wanting, in inches."""
    units: str


class NoTies(Remark):
    """No ties make the sheds of treadles pressed together."""

    kind: str
    """Of the loom."""
    sheds: int
    treadles: int


class ShedEach(Remark):
    """Each shed has a treadle of its own, since treadles together would make others."""

    kind: str
    """Of the loom."""
    instead: tuple[tuple[tuple[int, ...], int], ...]
    """Treadles as planned, and the one to press instead."""
