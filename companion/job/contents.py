"""What steps hold that ends, shafts and dents do not say, and the notes that go with steps."""

from enum import StrEnum
from fractions import Fraction
from typing import Literal, NamedTuple

from companion.loom.dressing import HeddleMove
from companion.loom.first_picks import Shed
from companion.loom.tie_on import Bout
from companion.loom.tie_up import Ties
from companion.loom.winding import AlikeRounds


class BeamTask(StrEnum):
    """What is done at the warp beam beside turning it."""

    COMB_OUT = "comb-out"
    """Comb the warp out in front of the reed, which it comes through."""
    CLOSE_RADDLE = "close-raddle"
    LASH_ROD = "lash-rod"
    """Lash the rod with the loops to the rod of the beam."""
    CHECK_STICKS = "check-sticks"
    """See that both lease sticks lie in the cross."""
    LAY_PACKING = "lay-packing"
    WIND_ALL = "wind-all"
    """Wind the whole warp, where its turns are not known."""
    LEAVE_OFF = "leave-off"
    SET_BRAKE = "set-brake"


class Turns(NamedTuple):
    """Turns of the warp beam, numbered from 1."""

    first: int
    last: int


class Pick(NamedTuple):
    """One throw of the shuttle."""

    treadles: tuple[int, ...]
    """Pressed together; () where shafts are raised by levers."""
    lifted: tuple[int, ...]
    """The threaded shafts above the shuttle, in rising order."""
    piece: int
    """Which piece it is in, from 1."""
    part: str
    """The part of the treadling it is in; "" where that has no name."""
    repeat: int
    """Which pass of its part in a row, from 1."""


class ClothMark(NamedTuple):
    """Where the cloth is measured, with the tension eased; lengths in inches."""

    what: Literal["hem", "second-hem", "measure", "piece"]
    """The first hem ends here, the second comes next, or it is only measured; or the piece ends."""
    woven: Fraction | None
    """How long the piece is by now; None where the plan does not tell."""
    wanted: Fraction | None = None
    """How long the whole piece is to be."""


class Unwoven(NamedTuple):
    """Warp that is left unwoven."""

    length: Fraction
    """In inches."""


class Waste(NamedTuple):
    """Picks of waste woven before the cloth."""

    picks: int
    way: Literal["sheds", "treadling", "shafts"]
    """With the two sheds by turns, as the plan's treadling begins, or with one shaft after the
    other."""


class ClothFault(StrEnum):
    """What the first picks may show."""

    ALIKE = "alike"
    """Two neighbours always together."""
    GAP = "gap"
    DENSE_LINE = "dense-line"
    NEVER_UP = "never-up"
    IN_BETWEEN = "in-between"
    """An end between the layers of a shed."""
    KINK = "kink"
    SHIFTED = "shifted"
    """A whole stretch turned or shifted."""


class Bar(NamedTuple):
    """One bar of a dobby."""

    shafts: tuple[int, ...]
    """Those that its pegs raise, in rising order."""


class Section(NamedTuple):
    """One section of a divided beam, with its ends or, once they are set up, with its turns."""

    number: int
    first: int
    """Its first end."""
    last: int
    """Inclusive."""
    turns: int
    """0 while the ends are set up."""


class Knot(NamedTuple):
    """A new end knotted to the old one in its place."""

    beam: int
    """The beam that the new end lies on."""


class KnotTask(StrEnum):
    """What is done when every end is knotted."""

    TUG = "tug"
    """Feel that every knot holds."""
    DRAW = "draw"
    """Draw the knots through heddles and reed."""


class Note(StrEnum):
    """A milestone that a step reaches, or a reminder that goes with it."""

    CENTRE_IN_SECTION = "centre-in-section"
    CENTRE_AFTER_SECTION = "centre-after-section"
    ALL_SECTIONS = "all-sections"
    PACKING_BEGINS = "packing-begins"
    PACKING = "packing"
    CHOKE_TIES = "choke-ties"
    COMPARE_BOUTS = "compare-bouts"
    """Feel the tension of the bouts so far."""
    FINISH_BOUTS = "finish-bouts"
    FEEL_ROD = "feel-rod"
    FINISH_ROD = "finish-rod"
    CENTRE_DENT = "centre-dent"
    LAST_DENT = "last-dent"
    FEEL_CLOTH = "feel-cloth"


class RulerMark(NamedTuple):
    """What lies under a ruler held to the reed, from dent 1 on."""

    ends: int
    dents: int
    """Those that hold ends."""
    length: Fraction
    """In inches."""


Content = (
    Bar
    | Knot
    | KnotTask
    | Section
    | AlikeRounds
    | Bout
    | Ties
    | Turns
    | BeamTask
    | Shed
    | Waste
    | ClothFault
    | HeddleMove
    | Pick
)
