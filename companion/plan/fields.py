"""What each field of the plan file holds, in words, for messages.

Keys are paths without list positions, and "parts" inside "parts" counts once. The test beside this
module holds the table to the models in `companion.plan.schema`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from companion.plan.fault import Path


class Field(NamedTuple):
    """One field of the plan file."""

    expected: str
    """What it holds, to follow "expected"."""
    example: str
    """How it is written."""


_ENDS = "a whole number of ends from 1 to 1,000,000"
_LENGTH = "a number above 0, in the plan's units"
_GAUGE = "a number above 0"
_TIMES = 'a whole number of times from 1 to 1,000,000, or "fill"'
_TIMES_ONLY = "a whole number of times from 1 to 1,000,000"
_SHAFTS = 'shafts in order, as text such as "1-2-3-4" or "1 to 4, 3 to 2"'
_TREADLES = 'treadles in order, as text such as "1-2-3-4" or "1+3, 2+4"'
_NAME = "a name of 1 to 60 characters on one line"
_SIDE = '"right" or "left"'
_PART = '[[threading]] with ends = "1 to 4" and times = "fill"'
_INNER_PART = 'parts = [{ends = "1 to 4"}, {ends = "3 to 2"}]'
_RUN = '[[colours]] with colour = "white" and ends = 20'
_LENGTH_OR_NONE = "a number of 0 or more, in the plan's units"
_SHARE = 'a share from "0 %" to "90 %", as text with its per cent sign'
_INNER_RUN = 'parts = [{colour = "white", ends = 4}, {colour = "blue", ends = 4}]'

FIELDS: dict[str, Field] = {
    "title": Field("a title of 1 to 120 characters on one line", 'title = "Kitchen towels"'),
    "units": Field('"inch" or "metric"', 'units = "inch"'),
    "draft": Field("the name of a WIF file", 'draft = "towels.wif"'),
    "draft_first_end": Field(_SIDE, 'draft_first_end = "right"'),
    "warp": Field("a table with the ends and the sett", "[warp] with ends = 300 and a sett"),
    "warp.ends": Field(_ENDS, "ends = 300"),
    "warp.width": Field(_LENGTH, "width = 25"),
    "warp.ends_per_inch": Field(_GAUGE, "ends_per_inch = 12"),
    "warp.ends_per_cm": Field(_GAUGE, "ends_per_cm = 5"),
    "warp.wound_together": Field("a whole number of ends from 1 to 12", "wound_together = 2"),
    "reed": Field(
        "a table with the reed's dents and width", "[reed] with dents_per_inch = 10 and width = 36"
    ),
    "reed.dents_per_inch": Field(_GAUGE, "dents_per_inch = 10"),
    "reed.dents_per_10cm": Field(_GAUGE, "dents_per_10cm = 40"),
    "reed.width": Field("the whole reed's width, a number above 0", "width = 36"),
    "reed.sley": Field('ends in successive dents, as text such as "1-2-2"', 'sley = "1-2-2"'),
    "loom": Field("a table with the number of shafts", "[loom] with shafts = 4"),
    "loom.shafts": Field("a whole number of shafts from 2 to 64", "shafts = 4"),
    "loom.heddles": Field(
        "a list with a whole number of heddles for each shaft", "heddles = [100, 100, 100, 100]"
    ),
    "loom.weaving_width": Field(_LENGTH, "weaving_width = 36"),
    "loom.first_end": Field(_SIDE, 'first_end = "right"'),
    "loom.method": Field('"back-to-front" or "front-to-back"', 'method = "back-to-front"'),
    "loom.passes": Field('"together" or "separate"', 'passes = "together"'),
    "loom.shaft_one": Field('"front" or "back"', 'shaft_one = "front"'),
    "loom.kind": Field('"jack", "counterbalance" or "countermarch"', 'kind = "jack"'),
    "raddle": Field("a table with the raddle's sections", "[raddle] with sections_per_inch = 2"),
    "raddle.sections_per_inch": Field(_GAUGE, "sections_per_inch = 2"),
    "raddle.sections_per_cm": Field(_GAUGE, "sections_per_cm = 1"),
    "raddle.width": Field(_LENGTH, "width = 30"),
    "beam": Field("a table with the way around the warp beam", "[beam] with around = 18"),
    "beam.around": Field(_LENGTH, "around = 18"),
    "beam.turns_a_step": Field("a whole number of turns from 1 to 100", "turns_a_step = 2"),
    "selvedges": Field("a table of ends at the edges", "[selvedges] with floating = 1"),
    "selvedges.floating": Field("a whole number of ends from 0 to 8", "floating = 1"),
    "selvedges.doubled": Field("a whole number of heddles from 0 to 64", "doubled = 2"),
    "blocks": Field("a table of named blocks", '[blocks] with A = "1-2-1-3"'),
    "blocks.*": Field(f"a block's short name and its {_SHAFTS}", 'A = "1-2-1-3"'),
    "threading": Field("parts, each a [[threading]] table", _PART),
    "threading.ends": Field(_SHAFTS, 'ends = "1 to 4, 3 to 2"'),
    "threading.block": Field("the name of a block in [blocks]", 'block = "A"'),
    "threading.named": Field("the name of a threading in common use", 'named = "point 4"'),
    "threading.times": Field(_TIMES, "times = 25"),
    "threading.colour": Field(_NAME, 'colour = "white"'),
    "threading.name": Field(_NAME, 'name = "border"'),
    "threading.parts": Field("a list of smaller parts", _INNER_PART),
    "threading.parts.ends": Field(_SHAFTS, 'ends = "1 to 4, 3 to 2"'),
    "threading.parts.block": Field("the name of a block in [blocks]", 'block = "A"'),
    "threading.parts.named": Field("the name of a threading in common use", 'named = "point 4"'),
    "threading.parts.times": Field(_TIMES_ONLY, "times = 2"),
    "threading.parts.colour": Field(_NAME, 'colour = "white"'),
    "threading.parts.name": Field(_NAME, 'name = "border"'),
    "colours": Field("runs of colour, each a [[colours]] table", _RUN),
    "colours.colour": Field(_NAME, 'colour = "white"'),
    "colours.ends": Field(_ENDS, "ends = 20"),
    "colours.times": Field(_TIMES, "times = 3"),
    "colours.parts": Field("a list of smaller runs", _INNER_RUN),
    "colours.parts.colour": Field(_NAME, 'colour = "white"'),
    "colours.parts.ends": Field(_ENDS, "ends = 20"),
    "colours.parts.times": Field(_TIMES_ONLY, "times = 3"),
    "groups": Field("a table that says where to stop and count", '[groups] with by = "repeat"'),
    "groups.by": Field('"repeat", "block", "inch", "cm" or "ends"', 'by = "repeat"'),
    "groups.size": Field("a whole number from 1 to 1,000,000", "size = 2"),
    "tie_up": Field(
        "a table with the shed and the treadles",
        '[tie_up] with shed = "rising" and treadles = ["1-2", "2-3"]',
    ),
    "tie_up.shed": Field('"rising" or "sinking"', 'shed = "rising"'),
    "tie_up.treadles": Field(
        'a list with each treadle\'s shafts as text, such as ["1-2", "2-3"]',
        'treadles = ["1-2", "2-3", "3-4", "1-4"]',
    ),
    "treadling": Field(
        "parts, each a [[treadling]] table", '[[treadling]] with picks = "1 to 4" and times = 10'
    ),
    "treadling.picks": Field(_TREADLES, 'picks = "1 to 4"'),
    "treadling.times": Field(_TIMES_ONLY, "times = 10"),
    "treadling.name": Field(_NAME, 'name = "border"'),
    "treadling.parts": Field("a list of smaller parts", 'parts = [{picks = "1 to 4", times = 2}]'),
    "treadling.parts.picks": Field(_TREADLES, 'picks = "1 to 4"'),
    "treadling.parts.times": Field(_TIMES_ONLY, "times = 10"),
    "treadling.parts.name": Field(_NAME, 'name = "border"'),
    "length": Field(
        "a table of lengths and losses",
        '[length] with finished = 30, take_up = "10 %", shrinkage = "10 %" and loom_waste = 30',
    ),
    "length.finished": Field(_LENGTH, "finished = 30"),
    "length.take_up": Field(_SHARE, 'take_up = "10 %"'),
    "length.shrinkage": Field(_SHARE, 'shrinkage = "10 %"'),
    "length.loom_waste": Field(_LENGTH_OR_NONE, "loom_waste = 30"),
    "length.pieces": Field("a whole number of pieces from 1 to 1,000,000", "pieces = 4"),
    "length.hem": Field(_LENGTH_OR_NONE, "hem = 1"),
    "length.fringe": Field(_LENGTH_OR_NONE, "fringe = 5"),
    "length.gap": Field(_LENGTH_OR_NONE, "gap = 2"),
    "length.sample": Field(_LENGTH_OR_NONE, "sample = 12"),
    "length.wind_step": Field(_LENGTH, "wind_step = 9"),
    "weft": Field("a table with the picks", "[weft] with picks_per_inch = 12"),
    "weft.picks_per_inch": Field(_GAUGE, "picks_per_inch = 12"),
    "weft.picks_per_cm": Field(_GAUGE, "picks_per_cm = 5"),
    "weft.take_up": Field(_SHARE, 'take_up = "10 %"'),
    "yarn": Field(
        "yarns, each a [[yarn]] table", '[[yarn]] with use = "warp" and size = "8/2 cotton"'
    ),
    "yarn.use": Field('"warp" or "weft"', 'use = "warp"'),
    "yarn.size": Field("a yarn's count and count system, as text", 'size = "8/2 cotton"'),
    "yarn.colour": Field(_NAME, 'colour = "white"'),
    "yarn.share": Field("a whole number of picks from 1 to 1,000,000", "share = 2"),
    "yarn.extra": Field(_SHARE, 'extra = "5 %"'),
    "yarn.package": Field("a cone's or skein's weight or length, as text", 'package = "250 g"'),
    "yarn.sett_k": Field(_GAUGE, 'sett_k = "0.9"'),
}

TABLE_LISTS = ("threading", "colours", "treadling", "yarn")
"""Tables that are written once for each part, with two pairs of brackets."""


def field_name(path: Path) -> str:
    """Return the key in `FIELDS` for a path in the plan; "" for the plan itself."""
    keys = [key for key in path if isinstance(key, str)]
    if keys[:1] == ["blocks"]:
        return "blocks" if len(keys) == 1 else "blocks.*"
    is_again = [index > 1 and keys[index - 1] == key == "parts" for index, key in enumerate(keys)]
    return ".".join(key for key, again in zip(keys, is_again, strict=True) if not again)


def keys_in(table: str) -> tuple[str, ...]:
    """Return the keys that a table of the plan may hold, in order; "" is the plan itself."""
    depth = table.count(".") + 1 if table else 0
    return tuple(
        name.rpartition(".")[2]
        for name in FIELDS
        if name.count(".") == depth and name.rpartition(".")[0] == table and name != "blocks.*"
    )


def tables_with(key: str) -> tuple[str, ...]:
    """Return the tables at the top of the plan that hold `key`, and "" for the plan itself."""
    return tuple(table for table in ("", *keys_in("")) if key in keys_in(table))
