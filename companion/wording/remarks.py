"""The wording of remarks on a plan that can be dressed."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING, Final

from companion.base.text import counted, listed, numbered, sentence
from companion.loom import remarks as r
from companion.loom.measures import sett_words

if TYPE_CHECKING:
    from companion.loom.remarks import Remark

_MOST_TOLD: Final = 12


@singledispatch
def told(remark: Remark) -> str:
    """Return a remark as a sentence fit to be spoken."""
    raise NotImplementedError(type(remark).__name__)


@told.register
def _(remark: r.Tolerated) -> str:
    return f"{remark.text}."


@told.register
def _(remark: r.WidthUnfilled) -> str:
    there = f"whole passes of the threading hold {remark.there}"
    return f"The width asked for takes {remark.asked} ends; {there}."


@told.register
def _(remark: r.NearSett) -> str:
    made, planned = (sett_words(each, remark.is_per_cm) for each in (remark.made, remark.planned))
    return f"The order {remark.order} in this reed makes {made}, near the {planned} planned."


@told.register
def _(remark: r.LongOrder) -> str:
    order = "-".join(map(str, remark.order)) + (" in every dent" if len(remark.order) == 1 else "")
    return (
        f"The exact order of ends in the reed repeats only after {remark.dents} dents; the nearest "
        f"short order is {order}, which makes {sett_words(remark.made, remark.is_per_cm)}."
    )


@told.register
def _(remark: r.Lopsided) -> str:
    row = remark.row
    return (
        f"Shaft {row.shaft} carries {row.before_centre} heddles in the {remark.near} half and "
        f"{row.after_centre} in the {remark.far} half, seen from the front of the loom; hang its "
        "spare heddles so that both ends weigh about the same."
    )


@told.register
def _(remark: r.IdleShafts) -> str:
    are = "is" if len(remark.shafts) == 1 else "are"
    return sentence(f"{numbered('shaft', remark.shafts)} {are} not used by this threading")


@told.register
def _(remark: r.ManyBalanced) -> str:
    return (
        "A counterbalance loom usually has 4 shafts that balance each other; this plan says "
        f"{remark.shafts}, so make sure that its sheds open."
    )


@told.register
def _(_remark: r.FrontInOnePass) -> str:
    return (
        "A warp brought in from the front is usually sleyed first and threaded after; separate "
        "passes would guide you so."
    )


@told.register
def _(remark: r.UnevenSheds) -> str:
    sets = "sets" if remark.sheds == 1 else "set"
    why = "on a counterbalance loom such a shed opens unevenly, so try it first"
    return f"{counted(remark.sheds, 'shed')} of this plan {sets} 1 shaft against 3; {why}."


@told.register
def _(remark: r.NoTies) -> str:
    loom, treadles = f"a {remark.kind} loom", counted(remark.treadles, "treadle")
    return (
        f"With these ties {loom} cannot make the sheds of treadles pressed together, and "
        f"{remark.sheds} sheds with a treadle each are more than its {treadles}. Where there are "
        f"{remark.sheds} treadles, write a tie-up with one for each shed."
    )


@told.register
def _(remark: r.ShedEach) -> str:
    instead = (f"{'+'.join(map(str, planned))} press {own}" for planned, own in remark.instead)
    return (
        f"Treadles pressed together make other sheds on a {remark.kind} loom, so each shed has a "
        f"treadle of its own: instead of {listed(instead, most=_MOST_TOLD)}."
    )
