"""The wording of remarks on a plan that can be dressed."""

from collections.abc import Callable
from typing import Any, Final

from companion.base.text import counted, listed, numbered, sentence
from companion.loom import remarks as r
from companion.loom.measures import sett_words
from companion.loom.remarks import Remark
from companion.yarn.measured import measure

_MOST_TOLD: Final = 12


def told(remark: Remark) -> str:
    """Return a remark as a sentence fit to be spoken."""
    return _WORDINGS[type(remark)](remark)


def _long_order(remark: r.LongOrder) -> str:
    order = "-".join(map(str, remark.order)) + (" in every dent" if len(remark.order) == 1 else "")
    return (
        f"The exact order of ends in the reed repeats only after {remark.dents} dents; the nearest "
        f"short order is {order}, which makes {sett_words(remark.made, remark.is_per_cm)}."
    )


def _idle(remark: r.IdleShafts) -> str:
    are = "is" if len(remark.shafts) == 1 else "are"
    return sentence(f"{numbered('shaft', remark.shafts)} {are} not used by this threading")


def _shed_each(remark: r.ShedEach) -> str:
    instead = (f"{'+'.join(map(str, planned))} press {own}" for planned, own in remark.instead)
    return (
        f"Treadles pressed together make other sheds on a {remark.kind} loom, so each shed has a "
        f"treadle of its own: instead of {listed(instead, most=_MOST_TOLD)}."
    )


def _long_pieces(remark: r.LongPieces) -> str:
    woven, planned, short = (
        measure(length, remark.units) for length in (remark.woven, remark.planned, remark.short)
    )
    return (
        f"Whole repeats make each piece {remark.picks} picks, {woven} off the loom in place of "
        f"{planned}, and the warp is {short} too short for that. End each piece when it is long "
        "enough, or wind more."
    )


_WORDINGS: Final[dict[type, Callable[[Any], str]]] = {
    r.Tolerated: lambda told: f"{told.text}.",
    r.WidthUnfilled: lambda width: (
        f"The width asked for takes {width.asked} ends; whole passes of the threading hold "
        f"{width.there}."
    ),
    r.NearSett: lambda near: (
        f"The order {near.order} in this reed makes {sett_words(near.made, near.is_per_cm)}, near "
        f"the {sett_words(near.planned, near.is_per_cm)} planned."
    ),
    r.LongOrder: _long_order,
    r.Lopsided: lambda off: (
        f"Shaft {off.row.shaft} carries {off.row.before_centre} heddles in the {off.near} half and "
        f"{off.row.after_centre} in the {off.far} half, seen from the front of the loom; hang its "
        "spare heddles so that both ends weigh about the same."
    ),
    r.IdleShafts: _idle,
    r.ManyBalanced: lambda many: (
        "A counterbalance loom usually has 4 shafts that balance each other; this plan says "
        f"{many.shafts}, so make sure that its sheds open."
    ),
    r.FrontInOnePass: lambda _: (
        "A warp brought in from the front is usually sleyed first and threaded after; separate "
        "passes would guide you so."
    ),
    r.UnevenSheds: lambda uneven: (
        f"{counted(uneven.sheds, 'shed')} of this plan {'sets' if uneven.sheds == 1 else 'set'} 1 "
        "shaft against 3; on a counterbalance loom such a shed opens unevenly, so try it first."
    ),
    r.NoTies: lambda none: (
        f"With these ties a {none.kind} loom cannot make the sheds of treadles pressed together, "
        f"and {none.sheds} sheds with a treadle each are more than its "
        f"{counted(none.treadles, 'treadle')}. Where there are {none.sheds} treadles, write a "
        "tie-up with one for each shed."
    ),
    r.ShedEach: _shed_each,
    r.LongPieces: _long_pieces,
}
