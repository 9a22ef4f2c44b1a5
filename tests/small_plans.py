"""Plans for tests of the arithmetic, built as values without a file."""

from __future__ import annotations

from fractions import Fraction
from itertools import cycle, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hypothesis import settings
from hypothesis import strategies as st

from companion.plan.draft.draft import Draft, Unit
from companion.plan.file.reader import Plan
from companion.plan.schema import PlanFile

if TYPE_CHECKING:
    from collections.abc import Sequence

untimed = settings(deadline=None)
"""For properties: how long one example takes on a busy machine proves nothing."""

STRAIGHT = (1, 2, 3, 4)


def straight(places: int) -> tuple[int, ...]:
    """Return a straight draw on four shafts over so many heddles."""
    return tuple(islice(cycle(STRAIGHT), places))


def units_of(places: int, *, length: int, names: Sequence[str] = ("",)) -> tuple[Unit, ...]:
    """Return units of `length` places; one pass over `names` is one repeat."""
    return tuple(
        Unit(names[index % len(names)], index + 1, index // len(names) + 1, first, last)
        for index, first in enumerate(range(1, places + 1, length))
        for last in [min(first + length - 1, places)]
    )


def make_plan(
    shafts: Sequence[int],
    *,
    sett: Any = 20,
    dents: Any = 10,
    reed_width: Any = 40,
    drafted: dict[str, Any] | None = None,
    **tables: Any,
) -> Plan:
    """Return a plan in inches with 4-place units, each a repeat, unless told otherwise.

    Args:
        shafts: the shaft of every place.
        sett: ends per inch; None where `warp` gives them by the centimetre.
        dents: dents per inch; None where `reed` gives them by the centimetre.
        reed_width: the whole reed's width.
        drafted: fields of the draft to set.
        tables: tables of the plan file, laid over those above.
    """
    file: dict[str, Any] = {
        "title": "Test cloth",
        "warp": {"ends_per_inch": sett},
        "reed": {"dents_per_inch": dents, "width": reed_width},
        "loom": {},
    }
    for name, table in tables.items():
        file[name] = {**file.get(name, {}), **table} if isinstance(table, dict) else table
    file = {
        name: {key: value for key, value in table.items() if value is not None}
        if isinstance(table, dict)
        else table
        for name, table in file.items()
    }
    file["loom"] = {"shafts": 4, **file["loom"]}
    fields = {"colours": ("",) * len(shafts), "units": units_of(len(shafts), length=4)}
    return Plan(
        file=PlanFile.model_validate(file),
        draft=Draft(shafts=tuple(shafts), **{**fields, **(drafted or {})}),
        path=Path("test.toml"),
        text="",
    )


GROUPINGS = ("repeat", "block", "inch", "cm", "ends")


@st.composite
def plans(draw: st.DrawFn, grouped_by: Sequence[str] = GROUPINGS) -> Plan:
    """Draw a plan that can be dressed, with most of what a plan can ask for."""
    places = draw(st.integers(1, 150))
    doubled = draw(st.integers(0, min(3, places // 2)))
    floating = draw(st.integers(0, 2))
    sett = Fraction(draw(st.integers(1, 120)), draw(st.integers(1, 4)))
    dents = Fraction(draw(st.integers(1, 80)), draw(st.integers(1, 4)))
    needed = -(-(places + 2 * doubled) * dents // sett) + 2 * floating
    spare = draw(st.integers(0, 9))
    names = draw(st.sampled_from([("",), ("block A", "block B"), ("rosepath",)]))
    colours = draw(st.sampled_from([("",), ("white",), ("indigo", "white", "white")]))
    passes = draw(st.sampled_from(["together", "separate"]))
    orders: list[dict[str, Any]] = [{}, {"thread_from": "centre"}]
    if len(colours) > 1 and places > 1 and passes == "separate":
        orders.append({"thread_first": draw(st.sampled_from(sorted(set(colours))))})
    return make_plan(
        draw(st.lists(st.integers(1, 4), min_size=places, max_size=places)),
        sett=sett,
        dents=dents,
        reed_width=Fraction(needed + spare) / dents,
        raddle={"sections_per_inch": draw(st.integers(1, 4))},
        selvedges={"floating": floating, "doubled": doubled},
        groups={"by": draw(st.sampled_from(grouped_by))},
        loom={
            "first_end": draw(st.sampled_from(["right", "left"])),
            "method": draw(st.sampled_from(["back-to-front", "front-to-back"])),
            "passes": passes,
            **draw(st.sampled_from(orders)),
            "shaft_one": draw(st.sampled_from(["front", "back"])),
            "kind": draw(st.sampled_from([None, "jack", "counterbalance"])),
        },
        drafted={
            "units": units_of(places, length=draw(st.integers(1, 60)), names=names),
            "colours": tuple(islice(cycle(colours), places)),
        },
    )
