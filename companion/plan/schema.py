"""The plan file as written: one pydantic model per table, in the file's own units.

Lengths are exact fractions, in inches where `units = "inch"` and centimetres where
`units = "metric"`. Setts and reeds carry their unit in the key, so that a metric reed may serve a
plan in inches. Whatever needs two tables to judge (a warp wider than the reed, a shaft the loom
does not have) is not judged here but in `companion.loom.check`.
"""

import math
from fractions import Fraction
from typing import Literal

from pydantic import Field

from companion.plan.equipment import Beam, Loom, OldWarp, Raddle, Reed, SecondBeam
from companion.plan.values import (
    MOST_TOGETHER,
    Count,
    Exact,
    ExactOrNone,
    Gauge,
    Label,
    PlanTable,
    Shafts,
    Share,
    Side,
    Title,
    Treadles,
    never,
    once,
    one_of,
    per_inch,
    said,
)
from companion.yarn.counts import CM_PER_INCH


class Warp(PlanTable):
    """How many ends and how close."""

    ends: Count | None = Field(default=None, examples=[300])
    """Ends in heddles; floating selvedges come on top. None: width or the threading decides."""
    width: Exact | None = Field(default=None, examples=[25])
    """Width in the reed, in the plan's units; ends = width x sett, rounded to the nearest."""
    ends_per_inch: Gauge | None = Field(default=None, examples=[12])
    ends_per_cm: Gauge | None = Field(default=None, examples=[5])
    wound_together: int = Field(default=1, ge=1, le=MOST_TOGETHER, strict=True, examples=[2])
    """Ends wound at once, which cross as one and stay together in the raddle."""

    _one_sett = once("sett", "ends_per_inch", "ends_per_cm")

    _one_size = never(
        "expected ends or width, not both",
        lambda warp: warp.ends is not None and warp.width is not None,
    )

    @property
    def sett(self) -> Fraction:
        """Ends per inch."""
        return per_inch(self.ends_per_inch, self.ends_per_cm)


class Selvedges(PlanTable):
    """Ends at both edges that are treated apart."""

    floating: int = Field(default=0, ge=0, le=8, strict=True, examples=[1])
    """Ends on each side that hang in the reed alone, each in a dent of its own."""
    doubled: int = Field(default=0, ge=0, le=64, strict=True, examples=[2])
    """Heddles on each side that hold two ends together (so each adds one end)."""

    def ends_in(self, heddles: int) -> int:
        """Return the threaded ends in so many heddles; floating selvedges come on top."""
        return heddles + 2 * self.doubled


class Part(PlanTable):
    """A part of the threading: exactly one of ends, block, named or parts."""

    ends: Shafts | None = None
    block: str | None = said("the name of a block in [blocks]", "A", default=None)
    named: str | None = said("the name of a threading in common use", "point 4", default=None)
    """See `companion.plan.threading.named`."""
    parts: tuple["InnerPart", ...] | None = said(
        "a list of smaller parts", [{"ends": "1 to 4"}, {"ends": "3 to 2"}], default=None
    )
    """Smaller parts, taken in order."""
    times: Count | Literal["fill"] = Field(default=1, examples=[25])
    """How often; "fill" (once a plan, on a part at the top) repeats as often as the ends allow."""
    colour: Label | None = None
    name: Label | None = Field(default=None, examples=["border"])
    """What the weaver calls this part."""

    _one_source = one_of("ends", "block", "named", "parts")


class InnerPart(Part):
    """A part of the threading inside another."""

    times: Count = Field(default=1, examples=[2])


class ColourRun(PlanTable):
    """A run of ends of one colour, or a repeated sequence of such runs."""

    colour: Label | None = None
    ends: Count | None = Field(default=None, examples=[20])
    parts: tuple["InnerRun", ...] | None = said(
        "a list of smaller runs",
        [{"colour": "white", "ends": 4}, {"colour": "blue", "ends": 4}],
        default=None,
    )
    times: Count | Literal["fill"] = Field(default=1, examples=[3])

    _parts_alone = never(
        "expected parts alone, or colour with ends",
        lambda run: run.parts and (run.colour is not None or run.ends is not None),
    )
    _both = never(
        "expected both colour and ends, or parts",
        lambda run: not run.parts and (run.colour is None or run.ends is None),
    )


class InnerRun(ColourRun):
    """A run of colour inside another."""

    times: Count = Field(default=1, examples=[3])


class Groups(PlanTable):
    """Where the weaver stops to count."""

    by: Literal["repeat", "block", "inch", "cm", "ends"] = "repeat"
    size: Count | None = Field(default=None, examples=[2])
    """How many of them make one group; None: chosen so that a group holds at most 24 ends."""


class TieUp(PlanTable):
    """Which shafts each treadle moves, and which way a tie moves them."""

    shed: Literal["rising", "sinking"]
    treadles: tuple[str, ...] = said(
        'a list with each treadle\'s shafts as text, such as ["1-2", "2-3"]',
        ["1-2", "2-3", "3-4", "1-4"],
    )
    """For each treadle its shafts, "1-2"; an empty string is a treadle left untied."""


class Picks(PlanTable):
    """A part of the treadling: treadles in order, or smaller parts."""

    picks: Treadles | None = None
    """Written as a threading's ends are; "1+3" presses two together."""
    parts: tuple["Picks", ...] | None = said(
        "a list of smaller parts", [{"picks": "1 to 4", "times": 2}], default=None
    )
    times: Count = Field(default=1, examples=[10])
    name: Label | None = Field(default=None, examples=["border"])

    _one_shape = one_of("picks", "parts")


class Lifts(PlanTable):
    """A part of a lift plan: the shafts raised in each pick, or smaller parts."""

    shafts: str | None = said(
        'shafts raised in each pick, as text such as "1+3, 2+4"', "1+3, 2+4", default=None
    )
    """Picks in order; "1+3" raises two shafts in one pick."""
    parts: tuple["Lifts", ...] | None = said(
        "a list of smaller parts", [{"shafts": "1+3, 2+4", "times": 2}], default=None
    )
    times: Count = Field(default=1, examples=[10])
    name: Label | None = Field(default=None, examples=["border"])

    _one_shape = one_of("shafts", "parts")


class Length(PlanTable):
    """What the warp is to give, and what is lost on the way; lengths in the plan's units."""

    finished: Exact = Field(examples=[30])
    """The length of each piece when finished, between its hems."""
    take_up: Share
    """The share of the warp that the bends of weaving take."""
    shrinkage: Share
    """The share of the woven length, off the loom, that finishing takes."""
    loom_waste: ExactOrNone = Field(examples=[30])
    """Warp that cannot be woven, at both ends together."""
    pieces: Count = Field(default=1, examples=[4])
    hem: ExactOrNone = Field(default=Fraction(0), examples=[1])
    """Finished length turned in, or frayed out, at each end of each piece."""
    fringe: ExactOrNone = Field(default=Fraction(0), examples=[5])
    """Warp left unwoven for a fringe at each end of each piece."""
    gap: ExactOrNone = Field(default=Fraction(0), examples=[2])
    """Warp left unwoven between one piece and the next, besides fringes."""
    sample: ExactOrNone = Field(default=Fraction(0), examples=[12])
    """Warp set aside to weave a sample from."""
    wind_step: Exact | None = Field(default=None, examples=[9])
    """The warp is wound in a whole number of these; None: a quarter of a yard, or 25 cm."""


class Weft(PlanTable):
    """How densely the weft lies."""

    picks_per_inch: Gauge | None = Field(default=None, examples=[12])
    """In the cloth off the loom, before washing."""
    picks_per_cm: Gauge | None = Field(default=None, examples=[5])
    take_up: Share = Fraction(0)
    """The share of the weft that its bends and slack take, beyond the width in the reed."""
    measure_every: Exact | None = Field(default=None, examples=[10])
    """How much cloth is woven from one measuring to the next, in the plan's units."""

    _one_gauge = once("picks", "picks_per_inch", "picks_per_cm")

    @property
    def gauge(self) -> Fraction:
        """Picks in an inch of cloth off the loom."""
        return per_inch(self.picks_per_inch, self.picks_per_cm)


class Yarn(PlanTable):
    """A yarn of the warp or of the weft."""

    use: Literal["warp", "weft"]
    size: Label = said("a yarn's count and count system, as text", "8/2 cotton")
    """See `companion.yarn.counts`."""
    colour: Label | None = None
    """In the warp, the colour whose ends it makes; None: all ends that no other yarn makes."""
    share: Count | None = Field(default=None, examples=[2])
    """In the weft, how many picks of it in each turn of the wefts; None: 1."""
    extra: Share = Field(default=Fraction(0), examples=["5 %"])
    """What to have over, as a share of what is needed."""
    package: Label | None = said(
        "a cone's or skein's weight or length, as text", "250 g", default=None
    )
    """What it is sold in, "250 g", "8 oz" or "400 m"."""
    sett_k: Gauge | None = Field(default=None, examples=["0.9"])
    """Ashenhurst's factor for this kind of yarn; None: that of firm yarns."""

    _share_of_weft = never(
        "expected share on a weft yarn alone; the colours share the warp",
        lambda yarn: yarn.share is not None and yarn.use == "warp",
    )


class PlanFile(PlanTable):
    """The whole plan file."""

    title: Title
    units: Literal["inch", "metric"] = "inch"
    warp: Warp = said("a table with the ends and the sett", "[warp] with ends = 300 and a sett")
    reed: Reed = said(
        "a table with the reed's dents and width", "[reed] with dents_per_inch = 10 and width = 36"
    )
    loom: Loom = said("a table with the number of shafts", "[loom] with shafts = 4")
    raddle: Raddle | None = said(
        "a table with the raddle's sections", "[raddle] with sections_per_inch = 2", default=None
    )
    beam: Beam | None = said(
        "a table with the way around the warp beam", "[beam] with around = 18", default=None
    )
    old_warp: OldWarp | None = said(
        "a table with the ends of the warp in the loom", "[old_warp] with ends = 300", default=None
    )
    second_beam: SecondBeam | None = said(
        "a table that says which ends lie on a second beam",
        '[second_beam] with shafts = "5 to 8"',
        default=None,
    )
    selvedges: Selvedges = said(
        "a table of ends at the edges",
        "[selvedges] with floating = 1",
        default=Selvedges.model_construct(),
    )
    blocks: dict[Label, Shafts] = said(
        "a table of named blocks", '[blocks] with A = "1-2-1-3"', default_factory=dict
    )
    threading: tuple[Part, ...] = said(
        "parts, each a [[threading]] table",
        '[[threading]] with ends = "1 to 4" and times = "fill"',
        default=(),
    )
    colours: tuple[ColourRun, ...] = said(
        "runs of colour, each a [[colours]] table",
        '[[colours]] with colour = "white" and ends = 20',
        default=(),
    )
    groups: Groups = said(
        "a table that says where to stop and count",
        '[groups] with by = "repeat"',
        default=Groups.model_construct(),
    )
    tie_up: TieUp | None = said(
        "a table with the shed and the treadles",
        '[tie_up] with shed = "rising" and treadles = ["1-2", "2-3"]',
        default=None,
    )
    treadling: tuple[Picks, ...] = said(
        "parts, each a [[treadling]] table",
        '[[treadling]] with picks = "1 to 4" and times = 10',
        default=(),
    )
    lifts: tuple[Lifts, ...] = said(
        "parts of a lift plan, each a [[lifts]] table",
        '[[lifts]] with shafts = "1+3, 2+4" and times = 10',
        default=(),
    )
    """For a table loom or a dobby, instead of tie-up and treadling."""
    length: Length | None = said(
        "a table of lengths and losses",
        '[length] with finished = 30, take_up = "10 %", shrinkage = "10 %" and loom_waste = 30',
        default=None,
    )
    weft: Weft | None = said(
        "a table with the picks", "[weft] with picks_per_inch = 12", default=None
    )
    yarn: tuple[Yarn, ...] = said(
        "yarns, each a [[yarn]] table",
        '[[yarn]] with use = "warp" and size = "8/2 cotton"',
        default=(),
    )
    draft: str | None = said("the name of a WIF file", "towels.wif", default=None)
    """A WIF file, beside this one, that holds the threading, tie-up and treadling instead."""
    draft_first_end: Side = "right"
    """The edge where the WIF file's thread 1 lies; the format does not say."""

    @property
    def asked_ends(self) -> int | None:
        """The threaded ends asked for, floating selvedges not counted; None: the threading decides.

        Of a width they are the width times the sett, rounded to the nearest; a half rounds up.
        """
        if self.warp.width is None:
            return self.warp.ends
        return math.floor(self.inches(self.warp.width) * self.warp.sett + Fraction(1, 2))

    def inches(self, length: Fraction) -> Fraction:
        """Return a length written in the plan's units, in inches."""
        return length / CM_PER_INCH if self.units == "metric" else length
