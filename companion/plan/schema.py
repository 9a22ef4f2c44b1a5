"""The plan file as written: one pydantic model per table, in the file's own units.

Lengths are exact fractions, in inches where `units = "inch"` and centimetres where
`units = "metric"`. Setts and reeds carry their unit in the key, so that a metric reed may serve a
plan in inches. Whatever needs two tables to judge (a warp wider than the reed, a shaft the loom
does not have) is not judged here but in `companion.loom.check`.
"""

import math
from fractions import Fraction
from typing import Annotated, Literal

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

    ends: Annotated[Count | None, Field(examples=[300])] = None
    """Ends in heddles; floating selvedges come on top. None: width or the threading decides."""
    width: Annotated[Exact | None, Field(examples=[25])] = None
    """Width in the reed, in the plan's units; ends = width x sett, rounded to the nearest."""
    ends_per_inch: Annotated[Gauge | None, Field(examples=[12])] = None
    ends_per_cm: Annotated[Gauge | None, Field(examples=[5])] = None
    wound_together: Annotated[int, Field(ge=1, le=MOST_TOGETHER, strict=True, examples=[2])] = 1
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

    floating: Annotated[int, Field(ge=0, le=8, strict=True, examples=[1])] = 0
    """Ends on each side that hang in the reed alone, each in a dent of its own."""
    doubled: Annotated[int, Field(ge=0, le=64, strict=True, examples=[2])] = 0
    """Heddles on each side that hold two ends together (so each adds one end)."""

    def ends_in(self, heddles: int) -> int:
        """Return the threaded ends in so many heddles; floating selvedges come on top."""
        return heddles + 2 * self.doubled


class Part(PlanTable):
    """A part of the threading: exactly one of ends, block, named or parts."""

    ends: Shafts | None = None
    block: Annotated[str | None, said("the name of a block in [blocks]", "A")] = None
    named: Annotated[str | None, said("the name of a threading in common use", "point 4")] = None
    """See `companion.plan.threading.named`."""
    parts: Annotated[
        tuple["InnerPart", ...] | None,
        said("a list of smaller parts", [{"ends": "1 to 4"}, {"ends": "3 to 2"}]),
    ] = None
    """Smaller parts, taken in order."""
    times: Annotated[Count | Literal["fill"], Field(examples=[25])] = 1
    """How often; "fill" (once a plan, on a part at the top) repeats as often as the ends allow."""
    colour: Label | None = None
    name: Annotated[Label | None, Field(examples=["border"])] = None
    """What the weaver calls this part."""

    _one_source = one_of("ends", "block", "named", "parts")


class InnerPart(Part):
    """A part of the threading inside another."""

    times: Annotated[Count, Field(examples=[2])] = 1


class ColourRun(PlanTable):
    """A run of ends of one colour, or a repeated sequence of such runs."""

    colour: Label | None = None
    ends: Annotated[Count | None, Field(examples=[20])] = None
    parts: Annotated[
        tuple["InnerRun", ...] | None,
        said(
            "a list of smaller runs",
            [{"colour": "white", "ends": 4}, {"colour": "blue", "ends": 4}],
        ),
    ] = None
    times: Annotated[Count | Literal["fill"], Field(examples=[3])] = 1

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

    times: Annotated[Count, Field(examples=[3])] = 1


class Groups(PlanTable):
    """Where the weaver stops to count."""

    by: Literal["repeat", "block", "inch", "cm", "ends"] = "repeat"
    size: Annotated[Count | None, Field(examples=[2])] = None
    """How many of them make one group; None: chosen so that a group holds at most 24 ends."""


class TieUp(PlanTable):
    """Which shafts each treadle moves, and which way a tie moves them."""

    shed: Literal["rising", "sinking"]
    treadles: Annotated[
        tuple[str, ...],
        said(
            'a list with each treadle\'s shafts as text, such as ["1-2", "2-3"]',
            ["1-2", "2-3", "3-4", "1-4"],
        ),
    ]
    """For each treadle its shafts, "1-2"; an empty string is a treadle left untied."""


class Picks(PlanTable):
    """A part of the treadling: treadles in order, or smaller parts."""

    picks: Treadles | None = None
    """Written as a threading's ends are; "1+3" presses two together."""
    parts: Annotated[
        tuple["Picks", ...] | None,
        said("a list of smaller parts", [{"picks": "1 to 4", "times": 2}]),
    ] = None
    times: Annotated[Count, Field(examples=[10])] = 1
    name: Annotated[Label | None, Field(examples=["border"])] = None

    _one_shape = one_of("picks", "parts")


class Lifts(PlanTable):
    """A part of a lift plan: the shafts raised in each pick, or smaller parts."""

    shafts: Annotated[
        str | None, said('shafts raised in each pick, as text such as "1+3, 2+4"', "1+3, 2+4")
    ] = None
    """Picks in order; "1+3" raises two shafts in one pick."""
    parts: Annotated[
        tuple["Lifts", ...] | None,
        said("a list of smaller parts", [{"shafts": "1+3, 2+4", "times": 2}]),
    ] = None
    times: Annotated[Count, Field(examples=[10])] = 1
    name: Annotated[Label | None, Field(examples=["border"])] = None

    _one_shape = one_of("shafts", "parts")


class Length(PlanTable):
    """What the warp is to give, and what is lost on the way; lengths in the plan's units."""

    finished: Annotated[Exact, Field(examples=[30])]
    """The length of each piece when finished, between its hems."""
    take_up: Share
    """The share of the warp that the bends of weaving take."""
    shrinkage: Share
    """The share of the woven length, off the loom, that finishing takes."""
    loom_waste: Annotated[ExactOrNone, Field(examples=[30])]
    """Warp that cannot be woven, at both ends together."""
    pieces: Annotated[Count, Field(examples=[4])] = 1
    hem: Annotated[ExactOrNone, Field(examples=[1])] = Fraction(0)
    """Finished length turned in, or frayed out, at each end of each piece."""
    fringe: Annotated[ExactOrNone, Field(examples=[5])] = Fraction(0)
    """Warp left unwoven for a fringe at each end of each piece."""
    gap: Annotated[ExactOrNone, Field(examples=[2])] = Fraction(0)
    """Warp left unwoven between one piece and the next, besides fringes."""
    sample: Annotated[ExactOrNone, Field(examples=[12])] = Fraction(0)
    """Warp set aside to weave a sample from."""
    wind_step: Annotated[Exact | None, Field(examples=[9])] = None
    """The warp is wound in a whole number of these; None: a quarter of a yard, or 25 cm."""


class Weft(PlanTable):
    """How densely the weft lies."""

    picks_per_inch: Annotated[Gauge | None, Field(examples=[12])] = None
    """In the cloth off the loom, before washing."""
    picks_per_cm: Annotated[Gauge | None, Field(examples=[5])] = None
    take_up: Share = Fraction(0)
    """The share of the weft that its bends and slack take, beyond the width in the reed."""
    measure_every: Annotated[Exact | None, Field(examples=[10])] = None
    """How much cloth is woven from one measuring to the next, in the plan's units."""

    _one_gauge = once("picks", "picks_per_inch", "picks_per_cm")

    @property
    def gauge(self) -> Fraction:
        """Picks in an inch of cloth off the loom."""
        return per_inch(self.picks_per_inch, self.picks_per_cm)


class Yarn(PlanTable):
    """A yarn of the warp or of the weft."""

    use: Literal["warp", "weft"]
    size: Annotated[Label, said("a yarn's count and count system, as text", "8/2 cotton")]
    """See `companion.yarn.counts`."""
    colour: Label | None = None
    """In the warp, the colour whose ends it makes; None: all ends that no other yarn makes."""
    share: Annotated[Count | None, Field(examples=[2])] = None
    """In the weft, how many picks of it in each turn of the wefts; None: 1."""
    extra: Annotated[Share, Field(examples=["5 %"])] = Fraction(0)
    """What to have over, as a share of what is needed."""
    package: Annotated[
        Label | None, said("a cone's or skein's weight or length, as text", "250 g")
    ] = None
    """What it is sold in, "250 g", "8 oz" or "400 m"."""
    sett_k: Annotated[Gauge | None, Field(examples=["0.9"])] = None
    """Ashenhurst's factor for this kind of yarn; None: that of firm yarns."""

    _share_of_weft = never(
        "expected share on a weft yarn alone; the colours share the warp",
        lambda yarn: yarn.share is not None and yarn.use == "warp",
    )


class PlanFile(PlanTable):
    """The whole plan file."""

    title: Title
    units: Literal["inch", "metric"] = "inch"
    warp: Annotated[
        Warp, said("a table with the ends and the sett", "[warp] with ends = 300 and a sett")
    ]
    reed: Annotated[
        Reed,
        said(
            "a table with the reed's dents and width",
            "[reed] with dents_per_inch = 10 and width = 36",
        ),
    ]
    loom: Annotated[Loom, said("a table with the number of shafts", "[loom] with shafts = 4")]
    raddle: Annotated[
        Raddle | None,
        said("a table with the raddle's sections", "[raddle] with sections_per_inch = 2"),
    ] = None
    beam: Annotated[
        Beam | None, said("a table with the way around the warp beam", "[beam] with around = 18")
    ] = None
    old_warp: Annotated[
        OldWarp | None,
        said("a table with the ends of the warp in the loom", "[old_warp] with ends = 300"),
    ] = None
    second_beam: Annotated[
        SecondBeam | None,
        said(
            "a table that says which ends lie on a second beam",
            '[second_beam] with shafts = "5 to 8"',
        ),
    ] = None
    selvedges: Annotated[
        Selvedges, said("a table of ends at the edges", "[selvedges] with floating = 1")
    ] = Selvedges.model_construct()
    blocks: Annotated[
        dict[Label, Shafts], said("a table of named blocks", '[blocks] with A = "1-2-1-3"')
    ] = Field(default_factory=dict)
    threading: Annotated[
        tuple[Part, ...],
        said(
            "parts, each a [[threading]] table",
            '[[threading]] with ends = "1 to 4" and times = "fill"',
        ),
    ] = ()
    colours: Annotated[
        tuple[ColourRun, ...],
        said(
            "runs of colour, each a [[colours]] table",
            '[[colours]] with colour = "white" and ends = 20',
        ),
    ] = ()
    groups: Annotated[
        Groups, said("a table that says where to stop and count", '[groups] with by = "repeat"')
    ] = Groups.model_construct()
    tie_up: Annotated[
        TieUp | None,
        said(
            "a table with the shed and the treadles",
            '[tie_up] with shed = "rising" and treadles = ["1-2", "2-3"]',
        ),
    ] = None
    treadling: Annotated[
        tuple[Picks, ...],
        said(
            "parts, each a [[treadling]] table",
            '[[treadling]] with picks = "1 to 4" and times = 10',
        ),
    ] = ()
    lifts: Annotated[
        tuple[Lifts, ...],
        said(
            "parts of a lift plan, each a [[lifts]] table",
            '[[lifts]] with shafts = "1+3, 2+4" and times = 10',
        ),
    ] = ()
    """For a table loom or a dobby, instead of tie-up and treadling."""
    length: Annotated[
        Length | None,
        said(
            "a table of lengths and losses",
            '[length] with finished = 30, take_up = "10 %", shrinkage = "10 %" and loom_waste = 30',
        ),
    ] = None
    weft: Annotated[
        Weft | None, said("a table with the picks", "[weft] with picks_per_inch = 12")
    ] = None
    yarn: Annotated[
        tuple[Yarn, ...],
        said("yarns, each a [[yarn]] table", '[[yarn]] with use = "warp" and size = "8/2 cotton"'),
    ] = ()
    draft: Annotated[str | None, said("the name of a WIF file", "towels.wif")] = None
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
