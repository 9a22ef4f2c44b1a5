"""The dressed loom: every end with heddle, dent, colour and group; lengths in exact inches."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, NamedTuple

from companion.base.value import Value
from companion.loom.tie_up import TieUpPlan
from companion.plan.draft.draft import Draft, shortest_period
from companion.yarn.counts import Size
from companion.yarn.length import WantedCloth, WarpLength
from companion.yarn.need import Need, Package

if TYPE_CHECKING:
    from companion.loom.remarks import Remark


class End(NamedTuple):
    """One warp end in a heddle; floating selvedges are not Ends (see Sley)."""

    number: int
    """1-based from the first-end edge."""
    shaft: int
    place: int
    """The threading place (heddle) it sits in, 1-based; two doubled ends share one."""
    dent: int
    """1-based from the first dent used, floating selvedge dents included."""
    colour: str
    group: int
    """1-based."""
    beam: int = 1
    """The warp beam it comes from, 1 or 2."""


class NumberSpan(NamedTuple):
    """A run of things that are numbered through the warp, "patterns 3 to 4"."""

    noun: str
    """"pattern" for a repeat, since the weaver says "repeat" to hear a callout again; or "unit",
    "inch", "centimetre"."""
    first: int
    last: int


class GroupName(NamedTuple):
    """What a group is called, such as "block A, pattern 2, part 1 of 3"."""

    own: str = ""
    """The plan's own name for the unit that it is of; "" where it has none or is of several."""
    stretches: tuple[NumberSpan, ...] = ()
    part: int = 0
    """Which part of a long unit, from 1; 0 where it is whole."""
    parts: int = 0


class Group(NamedTuple):
    """Ends checked together."""

    number: int
    name: GroupName
    """Empty for groups by number of ends."""
    first: int
    """First end."""
    last: int
    """Last end, inclusive."""

    @property
    def ends(self) -> int:
        """How many ends it holds."""
        return self.last - self.first + 1


class Region(NamedTuple):
    """Neighbouring ends in one order in the reed."""

    first_end: int
    last_end: int
    """Inclusive."""
    first_dent: int
    """Of the dents used."""
    last_dent: int
    pattern: tuple[int, ...]
    sett: Fraction
    """Ends per inch that the order makes."""


class Sley(Value):
    """How the ends lie in the reed."""

    pattern: tuple[int, ...]
    """Ends in successive dents, repeated."""
    counts: tuple[int, ...]
    """Ends in every dent used, floating selvedge dents included; 0 is a dent left empty."""
    floating: int
    """Floating selvedge ends on each side, one a dent, outside the threaded ends."""
    first_dent: int
    """The reed's own dent number of the first dent used, from the first-end edge."""
    empty_before: int
    """Dents left empty between the reed's first-end edge and the first dent used."""
    empty_after: int
    reed_dents: int
    width: Fraction
    """Width in the reed of the dents used, inches."""
    regions: tuple[Region, ...] = ()
    """In order, where the plan gives each its own order; `pattern` is then that of the first."""

    @property
    def body(self) -> tuple[int, ...]:
        """Ends in the dents between the floating selvedges."""
        return self.counts[self.floating : len(self.counts) - self.floating]


class ShaftHeddles(Value):
    """The heddles of one shaft."""

    shaft: int
    needed: int
    before_centre: int
    """Of those needed, how many lie in the half on the first-end side."""
    after_centre: int
    have: int | None

    @property
    def short(self) -> int:
        """How many heddles are missing; 0 where enough or where not known."""
        return 0 if self.have is None else max(0, self.needed - self.have)

    @property
    def spare(self) -> int:
        """How many heddles are not needed; 0 where none or where not known."""
        return 0 if self.have is None else max(0, self.have - self.needed)


class HeddleMove(NamedTuple):
    """Heddles that hang on one shaft and are needed on another."""

    number: int
    from_shaft: int
    to_shaft: int


class InSections(Value):
    """How the ends spread over sections, of a raddle or of a beam."""

    counts: tuple[int, ...]
    """Ends in every section used, in order from the first-end edge."""
    empty_before: int | None
    """Sections left empty on the first-end side; None where it is not known how many there are."""
    empty_after: int | None


class RaddlePlan(InSections):
    """How the ends spread in the raddle."""

    half: int
    """Sections from the raddle's centre back to where section 1 begins."""

    @property
    def middle(self) -> int:
        """The last section of the half that is laid first, or the middle one."""
        return (len(self.counts) + 1) // 2


class BeamPlan(Value):
    """How the warp goes on the warp beam."""

    most_turns: int
    """Turns it takes at most: the layers beneath make every turn longer than the one before."""
    turns_a_step: int


class SectionPlan(InSections):
    """How the warp is wound straight onto a beam divided into sections, one after the other."""

    turns: int
    """Turns that every section takes."""


class YarnNeed(NamedTuple):
    """What one yarn is for, and how much of it that takes."""

    use: Literal["warp", "weft"]
    colour: str
    """"" where the plan names none."""
    size: Size
    threads: int
    """Ends, floating selvedges among them, or picks."""
    need: Need
    package: Package | None
    share: int = 1
    """In the weft, its picks in each turn of the wefts."""


class ClosestSett(NamedTuple):
    """How close a warp yarn could be set in the plan's weave, in ends per inch."""

    size: Size
    k: Fraction
    sett: Fraction


class Yarns(Value):
    """All that a plan's tables of lengths and yarns come to; lengths in inches."""

    wanted: WantedCloth
    length: WarpLength
    wind: Fraction
    """The length to wind every end to: `length.total` rounded up."""
    ends: dict[str, int]
    """Ends to wind of each colour, in order of appearance; floating selvedges are of the colour
    at their edge."""
    needs: tuple[YarnNeed, ...]
    without: dict[str, int]
    """Ends of each colour that no yarn is given for."""
    setts: tuple[ClosestSett, ...]
    """One for each size of warp yarn; () where the plan has no treadling."""


class Dressing(Value):
    """Everything computed from a plan."""

    title: str
    ends: tuple[End, ...]
    groups: tuple[Group, ...]
    sley: Sley
    heddles: tuple[ShaftHeddles, ...]
    raddle: RaddlePlan | None
    draft: Draft
    sett: Fraction
    """Ends per inch as planned."""
    dents_per_inch: Fraction
    units: Literal["inch", "metric"]
    first_end: Literal["right", "left"]
    method: Literal["back-to-front", "front-to-back"]
    passes: Literal["together", "separate"]
    shaft_one: Literal["front", "back"]
    loom_kind: Literal["jack", "counterbalance", "countermarch", "table", "dobby"] | None
    notes: tuple[Remark, ...]
    """Advice that does not stop the work."""
    wound_together: int = 1
    """Ends wound at once."""
    tie_up: TieUpPlan | None = None
    """The ties on this loom; None where the plan has no treadles."""
    beam: BeamPlan | None = None
    """How the warp goes on its beam; None where the plan does not give what it takes."""
    picks_per_inch: Fraction | None = None
    """In the cloth off the loom, before washing; None where the plan does not give it."""
    measure_every: Fraction | None = None
    """Cloth woven from one measuring to the next, inches; None where none is asked for."""
    yarns: Yarns | None = None
    """Warp length and yarn; None where the plan gives no lengths."""
    moves: tuple[HeddleMove, ...] = ()
    """Heddles to move before threading begins; `heddles` counts them where they then hang."""
    is_knotted: bool = False
    """Whether the warp is knotted to an old one in the loom, and not threaded."""
    sections: SectionPlan | None = None
    """How the warp is wound onto a beam in sections; None where it is wound apart first."""
    warps: tuple[Dressing, ...] = ()
    """Each of two warps as a dressing by itself, its own ends counted from 1; () where one is
    all."""
    beam_number: int = 0
    """Of one warp of two, the beam it lies on; 0 where one is all."""
    whole: Dressing | None = field(default=None, repr=False)
    """Of one warp of two, or of a warp in the order of threading, what it was made from."""
    second_tension: Literal["alike", "slacker", "tighter"] = "alike"
    """How the second warp is held, beside the first."""

    thread_from: Literal["edge", "centre"] = "edge"
    thread_first: str = ""
    """The colour whose ends are threaded before all others; "" where each comes in its turn."""
    back_at: int = 0
    """In the order of threading, the first end after the weaver went back to the centre, or to the
    edge for the other colours; 0 where she need not."""

    @property
    def pegged(self) -> tuple[tuple[int, ...], ...]:
        """The shafts pegged on each bar of a dobby: one repeat of the lift plan."""
        lifts = self.draft.lifts
        period = shortest_period(lifts)
        return lifts[:period] if period and len(lifts) % period == 0 else lifts

    @property
    def ends_width(self) -> Fraction:
        """How wide the threaded ends lie, in inches."""
        if self.sley.regions:
            return len(self.sley.body) / self.dents_per_inch
        return len(self.ends) / self.sett

    @property
    def last_edge(self) -> Literal["right", "left"]:
        """The edge where the last end lies, seen from the front of the loom."""
        return "left" if self.first_end == "right" else "right"
