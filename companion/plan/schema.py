"""The plan file as written: one pydantic model per table, in the file's own units.

Lengths are exact fractions, in inches where `units = "inch"` and centimetres where
`units = "metric"`. Setts and reeds carry their unit in the key, so that a metric reed may serve a
plan in inches. Whatever needs two tables to judge (a warp wider than the reed, a shaft the loom
does not have) is not judged here but in `companion.loom.check`.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from companion.yarn.length import MOST_SHARE, read_share

MAX_ENDS = 1_000_000
"""The widest warp a plan may ask for; a guard against slips of the finger, not a craft limit."""


MAX_SHAFTS = 64
"""The most shafts or treadles a plan may name; far more than hand looms have."""

MOST_TOGETHER = 12
"""The most ends wound at once; a guard against slips of the finger."""

_EXACT = re.compile(
    r"(?:(?P<whole>[0-9]+) +)?(?P<over>[0-9]+)/(?P<under>0*[1-9][0-9]*)|[0-9]+(?:\.[0-9]+)?"
)
_LONGEST_EXACT = 30
"""Characters; anything longer is a slip."""


def exact(value: Any) -> Fraction:
    """Return a number written as 20, 16.5, "16 1/2" or "33/2" as an exact fraction."""
    if isinstance(value, Fraction):
        return value
    text = ""
    # Huge integers are left out here because Python refuses to write them as text.
    if isinstance(value, (str, Decimal)) or (type(value) is int and abs(value) <= MAX_ENDS):
        text = str(value).strip()
    match = _EXACT.fullmatch(text) if len(text) <= _LONGEST_EXACT else None
    if match is None:
        raise ValueError('expected a number such as 20, 16.5 or "16 1/2"')
    if match["over"] is None:
        return Fraction(text)
    return int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))


def share(value: Any) -> Fraction:
    """Return a share written with its per cent sign, "10 %", as an exact fraction."""
    if isinstance(value, Fraction):
        return value
    if not isinstance(value, str):
        raise ValueError('expected a share as text with its per cent sign, such as "10 %"')  # noqa: TRY004 - pydantic takes a ValueError
    return read_share(value)


Exact = Annotated[Fraction, BeforeValidator(exact), Field(gt=0, le=MAX_ENDS)]
ExactOrNone = Annotated[Fraction, BeforeValidator(exact), Field(ge=0, le=MAX_ENDS)]
"""A length that may be 0, which is none of it."""
Share = Annotated[Fraction, BeforeValidator(share), Field(ge=0, le=MOST_SHARE)]
"""A share written with its per cent sign, "10 %"."""
Count = Annotated[int, Field(ge=1, le=MAX_ENDS, strict=True)]
Side = Literal["right", "left"]
_SPEAKABLE = r"^[^\p{Cc}\p{Zl}\p{Zp}]*[^\p{C}\p{Z}][^\p{Cc}\p{Zl}\p{Zp}]*$"
Label = Annotated[str, Field(max_length=60, pattern=_SPEAKABLE)]
"""A name that is spoken and printed: one line with something visible in it."""


class Table(BaseModel):
    """A table of the plan file: unknown keys are mistakes and nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class Warp(Table):
    """How many ends and how close."""

    ends: Count | None = None
    """Ends in heddles; floating selvedges come on top. None: width or the threading decides."""
    width: Exact | None = None
    """Width in the reed, in the plan's units; ends = width x sett, rounded to the nearest."""
    ends_per_inch: Exact | None = None
    ends_per_cm: Exact | None = None
    wound_together: Annotated[int, Field(ge=1, le=MOST_TOGETHER, strict=True)] = 1
    """Ends wound at once, which cross as one and stay together in the raddle."""

    @model_validator(mode="after")
    def _one_sett(self) -> Warp:
        if (self.ends_per_inch is None) == (self.ends_per_cm is None):
            raise ValueError("expected the sett once, as ends_per_inch or ends_per_cm")
        if self.ends is not None and self.width is not None:
            raise ValueError("expected ends or width, not both")
        return self


class Reed(Table):
    """The reed in the beater."""

    dents_per_inch: Exact | None = None
    dents_per_10cm: Exact | None = None
    width: Exact
    """The whole reed's width in the plan's units."""
    sley: str | None = None
    """Ends in successive dents, "1-2-2"; None computes the most even order from sett and reed."""

    @model_validator(mode="after")
    def _one_gauge(self) -> Reed:
        if (self.dents_per_inch is None) == (self.dents_per_10cm is None):
            raise ValueError("expected the reed once, as dents_per_inch or dents_per_10cm")
        return self


class Loom(Table):
    """The loom and how the weaver dresses it."""

    shafts: Annotated[int, Field(ge=2, le=MAX_SHAFTS, strict=True)]
    heddles: tuple[Annotated[int, Field(ge=0, le=MAX_ENDS, strict=True)], ...] | None = None
    """Heddles hanging on each shaft, shaft 1 first; None: not known, so shortage is not judged."""
    weaving_width: Exact | None = None
    first_end: Side = "right"
    """The edge where end 1 is, seen from the front of the loom."""
    method: Literal["back-to-front", "front-to-back"] = "back-to-front"
    passes: Literal["together", "separate"] = "together"
    """Whether each end goes through heddle and reed in one step, or the reed is a later pass."""
    shaft_one: Literal["front", "back"] = "front"
    """Which shaft is called 1: the one nearest the breast beam or nearest the back beam."""
    kind: Literal["jack", "counterbalance", "countermarch"] | None = None


class Raddle(Table):
    """The raddle, for spreading before beaming."""

    sections_per_inch: Exact | None = None
    sections_per_cm: Exact | None = None
    width: Exact | None = None
    """The whole raddle's width in the plan's units; None: not known, so not centred."""

    @model_validator(mode="after")
    def _one_gauge(self) -> Raddle:
        if (self.sections_per_inch is None) == (self.sections_per_cm is None):
            raise ValueError("expected the raddle once, as sections_per_inch or sections_per_cm")
        return self


class Beam(Table):
    """The warp beam, for winding the warp on."""

    around: Exact
    """The length of one turn on the bare beam, in the plan's units."""
    turns_a_step: Annotated[int, Field(ge=1, le=100, strict=True)] = 1
    """Turns wound between two confirmations."""


class Selvedges(Table):
    """Ends at both edges that are treated apart."""

    floating: Annotated[int, Field(ge=0, le=8, strict=True)] = 0
    """Ends on each side that hang in the reed alone, each in a dent of its own."""
    doubled: Annotated[int, Field(ge=0, le=64, strict=True)] = 0
    """Heddles on each side that hold two ends together (so each adds one end)."""


class Part(Table):
    """A part of the threading: exactly one of ends, block, named or parts."""

    ends: str | None = None
    """Shafts in order, "1-2-3-4" or "1 to 4, 3 to 2"."""
    block: str | None = None
    """The name of a block in the `blocks` table."""
    named: str | None = None
    """The name of a threading in common use; see `companion.plan.threading.named`."""
    parts: tuple[Part, ...] | None = None
    """Smaller parts, taken in order."""
    times: Count | Literal["fill"] = 1
    """How often; "fill" (once a plan, on a part at the top) repeats as often as the ends allow."""
    colour: Label | None = None
    name: Label | None = None
    """What the weaver calls this part."""

    @model_validator(mode="after")
    def _one_source(self) -> Part:
        given = [key for key in ("ends", "block", "named", "parts") if getattr(self, key)]
        if len(given) != 1:
            came = " and ".join(given) or "none of them"
            raise ValueError(f"expected exactly one of ends, block, named or parts; found {came}")
        return self


class ColourRun(Table):
    """A run of ends of one colour, or a repeated sequence of such runs."""

    colour: Label | None = None
    ends: Count | None = None
    parts: tuple[ColourRun, ...] | None = None
    times: Count | Literal["fill"] = 1

    @model_validator(mode="after")
    def _one_shape(self) -> ColourRun:
        if self.parts:
            if self.colour is not None or self.ends is not None:
                raise ValueError("expected parts alone, or colour with ends")
        elif self.colour is None or self.ends is None:
            raise ValueError("expected both colour and ends, or parts")
        return self


class Groups(Table):
    """Where the weaver stops to count."""

    by: Literal["repeat", "block", "inch", "cm", "ends"] = "repeat"
    size: Count | None = None
    """How many of them make one group; None: chosen so that a group holds at most 24 ends."""


class TieUp(Table):
    """Which shafts each treadle moves, and which way a tie moves them."""

    shed: Literal["rising", "sinking"]
    treadles: tuple[str, ...]
    """For each treadle its shafts, "1-2"; an empty string is a treadle left untied."""


class Picks(Table):
    """A part of the treadling: treadles in order, or smaller parts."""

    picks: str | None = None
    """Treadles in order, written as a threading's ends are; "1+3" presses two together."""
    parts: tuple[Picks, ...] | None = None
    times: Count = 1
    name: Label | None = None

    @model_validator(mode="after")
    def _one_shape(self) -> Picks:
        if (self.picks is None) == (self.parts is None):
            raise ValueError("expected exactly one of picks or parts")
        return self


class Length(Table):
    """What the warp is to give, and what is lost on the way; lengths in the plan's units."""

    finished: Exact
    """The length of each piece when finished, between its hems."""
    take_up: Share
    """The share of the warp that the bends of weaving take."""
    shrinkage: Share
    """The share of the woven length, off the loom, that finishing takes."""
    loom_waste: ExactOrNone
    """Warp that cannot be woven, at both ends together."""
    pieces: Count = 1
    hem: ExactOrNone = Fraction(0)
    """Finished length turned in, or frayed out, at each end of each piece."""
    fringe: ExactOrNone = Fraction(0)
    """Warp left unwoven for a fringe at each end of each piece."""
    gap: ExactOrNone = Fraction(0)
    """Warp left unwoven between one piece and the next, besides fringes."""
    sample: ExactOrNone = Fraction(0)
    """Warp set aside to weave a sample from."""
    wind_step: Exact | None = None
    """The warp is wound in a whole number of these; None: a quarter of a yard, or 25 cm."""


class Weft(Table):
    """How densely the weft lies."""

    picks_per_inch: Exact | None = None
    """In the cloth off the loom, before washing."""
    picks_per_cm: Exact | None = None
    take_up: Share = Fraction(0)
    """The share of the weft that its bends and slack take, beyond the width in the reed."""

    @model_validator(mode="after")
    def _one_gauge(self) -> Weft:
        if (self.picks_per_inch is None) == (self.picks_per_cm is None):
            raise ValueError("expected the picks once, as picks_per_inch or picks_per_cm")
        return self


class Yarn(Table):
    """A yarn of the warp or of the weft."""

    use: Literal["warp", "weft"]
    size: Label
    """Its count and count system, "8/2 cotton"; see `companion.yarn.counts`."""
    colour: Label | None = None
    """In the warp, the colour whose ends it makes; None: all ends that no other yarn makes."""
    share: Count | None = None
    """In the weft, how many picks of it in each turn of the wefts; None: 1."""
    extra: Share = Fraction(0)
    """What to have over, as a share of what is needed."""
    package: Label | None = None
    """What it is sold in, "250 g", "8 oz" or "400 m"."""
    sett_k: Exact | None = None
    """Ashenhurst's factor for this kind of yarn; None: that of firm yarns."""

    @model_validator(mode="after")
    def _share_of_weft(self) -> Yarn:
        if self.share is not None and self.use == "warp":
            raise ValueError("expected share on a weft yarn alone; the colours share the warp")
        return self


class PlanFile(Table):
    """The whole plan file."""

    title: Annotated[str, Field(max_length=120, pattern=_SPEAKABLE)]
    units: Literal["inch", "metric"] = "inch"
    warp: Warp
    reed: Reed
    loom: Loom
    raddle: Raddle | None = None
    beam: Beam | None = None
    selvedges: Selvedges = Selvedges()
    blocks: dict[Label, str] = {}
    threading: tuple[Part, ...] = ()
    colours: tuple[ColourRun, ...] = ()
    groups: Groups = Groups()
    tie_up: TieUp | None = None
    treadling: tuple[Picks, ...] = ()
    length: Length | None = None
    weft: Weft | None = None
    yarn: tuple[Yarn, ...] = ()
    draft: str | None = None
    """A WIF file, beside this one, that holds the threading, tie-up and treadling instead."""
    draft_first_end: Side = "right"
    """The edge where the WIF file's thread 1 lies; the format does not say."""
