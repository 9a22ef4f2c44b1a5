"""The tables of a plan file that describe the loom and what stands on it: reed, raddle, beams.

Units and limits are those of `companion.plan.schema`, which holds the other tables.
"""

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field

from companion.plan.values import (
    MAX_ENDS,
    MAX_SHAFTS,
    Count,
    Exact,
    ExactOrNone,
    Gauge,
    Label,
    PlanTable,
    Shafts,
    Share,
    Side,
    never,
    once,
    one_of,
    per_inch,
    said,
)

Order = Annotated[str, said('ends in successive dents, as text such as "1-2-2"', "1-2-2")]


class ReedPart(PlanTable):
    """A region of the reed: ends with an order of their own, dents left empty, or smaller parts."""

    ends: Count | None = Field(default=None, examples=[24])
    """Ends in heddles, doubled ones counted as two."""
    sley: Order | None = Field(default=None, examples=["4"])
    """None: the most even order that makes the warp's sett."""
    empty: Count | None = Field(default=None, examples=[5])
    """Dents left empty."""
    parts: tuple["ReedPart", ...] | None = said(
        "a list of smaller parts", [{"ends": 12, "sley": "4"}, {"empty": 5}], default=None
    )
    """Smaller parts, taken in order."""
    times: Count = Field(default=1, examples=[3])

    _one_shape = one_of("ends", "empty", "parts")
    _sley_of_ends = never(
        "expected sley beside ends alone", lambda part: part.sley is not None and part.ends is None
    )


class Reed(PlanTable):
    """The reed in the beater."""

    dents_per_inch: Gauge | None = Field(default=None, examples=[10])
    dents_per_10cm: Gauge | None = Field(default=None, examples=[40])
    width: Exact = Field(examples=[36])
    """The whole reed's width in the plan's units."""
    sley: Order | None = None
    """Ends in successive dents, "1-2-2"; None computes the most even order from sett and reed."""
    parts: tuple[ReedPart, ...] = said(
        "a list of regions of the reed", [{"ends": 24}, {"ends": 12, "sley": "4"}], default=()
    )
    """Regions with an order each, from end 1 on, for a warp crammed here and spaced there."""

    _one_sley = never(
        "expected sley or parts, not both", lambda reed: reed.parts and reed.sley is not None
    )
    _one_gauge = once("reed", "dents_per_inch", "dents_per_10cm")

    @property
    def gauge(self) -> Fraction:
        """Dents per inch; 40 dents in 10 cm are exactly 10.16 in an inch."""
        return per_inch(self.dents_per_inch, self.dents_per_10cm, 10)


class Loom(PlanTable):
    """The loom and how the weaver dresses it."""

    shafts: int = Field(ge=2, le=MAX_SHAFTS, strict=True, examples=[4])
    heddles: tuple[Annotated[int, Field(ge=0, le=MAX_ENDS, strict=True)], ...] | None = said(
        "a list with a whole number of heddles for each shaft", [100, 100, 100, 100], default=None
    )
    """Heddles hanging on each shaft, shaft 1 first; None: not known, so shortage is not judged."""
    weaving_width: Exact | None = Field(default=None, examples=[36])
    first_end: Side = "right"
    """The edge where end 1 is, seen from the front of the loom."""
    method: Literal["back-to-front", "front-to-back"] = "back-to-front"
    passes: Literal["together", "separate"] = "together"
    """Whether each end goes through heddle and reed in one step, or the reed is a later pass."""
    thread_from: Literal["edge", "centre"] = "edge"
    """Where threading begins: with end 1, or in the middle, and out to either edge."""
    thread_first: Label | None = Field(default=None, examples=["blue"])
    """The colour whose ends are all threaded before the others; None: each in its turn."""
    shaft_one: Literal["front", "back"] = "front"
    """Which shaft is called 1: the one nearest the breast beam or nearest the back beam."""
    kind: Literal["jack", "counterbalance", "countermarch", "table", "dobby"] | None = None
    """A table loom has a lever for each shaft, and a dobby bars with pegs: neither is tied up."""

    _one_order = never(
        "expected thread_from or thread_first, not both",
        lambda loom: loom.thread_first is not None and loom.thread_from != "edge",
    )


class Raddle(PlanTable):
    """The raddle, for spreading before beaming."""

    sections_per_inch: Gauge | None = Field(default=None, examples=[2])
    sections_per_cm: Gauge | None = Field(default=None, examples=[1])
    width: Exact | None = Field(default=None, examples=[30])
    """The whole raddle's width in the plan's units; None: not known, so not centred."""

    _one_gauge = once("raddle", "sections_per_inch", "sections_per_cm")

    @property
    def gauge(self) -> Fraction:
        """Sections per inch."""
        return per_inch(self.sections_per_inch, self.sections_per_cm)


class Beam(PlanTable):
    """The warp beam, for winding the warp on."""

    around: Exact = Field(examples=[18])
    """The length of one turn on the bare beam, in the plan's units."""
    turns_a_step: int = Field(default=1, ge=1, le=100, strict=True, examples=[2])
    """Turns wound between two confirmations."""
    section_width: Exact | None = Field(default=None, examples=[2])
    """The width of a section, where the beam is divided and the warp is wound straight onto it."""
    sections: Count | None = Field(default=None, examples=[18])
    """Sections on the whole beam; None: not known, so not centred."""

    _sections_of_a_width = never(
        "expected section_width beside sections",
        lambda beam: beam.sections is not None and beam.section_width is None,
    )


class SecondBeam(PlanTable):
    """A second warp on a beam of its own; all other ends are those of the first."""

    shafts: Shafts | None = None
    """Its ends are all those on these shafts."""
    colour: Label | None = None
    """Its ends are all those of this colour."""
    order: str | None = said(
        'the beam of successive heddles, as text such as "1-2"', "1-2", default=None
    )
    """The beam of successive heddles, over and over."""
    take_up: Share | None = None
    """None: that of the first warp, and so for what follows."""
    loom_waste: ExactOrNone | None = Field(default=None, examples=[30])
    around: Exact | None = Field(default=None, examples=[18])
    """The length of one turn on the bare second beam."""
    tension: Literal["alike", "slacker", "tighter"] = "alike"
    """How it is held while weaving, beside the first."""

    _one_choice = one_of("shafts", "colour", "order")


class OldWarp(PlanTable):
    """A warp that hangs in the loom still: the new one is knotted to it, and nothing threaded."""

    ends: Count = Field(examples=[300])
    """Its ends in heddles; the new warp must have as many."""
