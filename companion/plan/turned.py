"""A plan that is begun at the other edge of the loom than it says."""

from dataclasses import replace
from typing import Final, Literal

from companion.plan.draft.draft import Draft
from companion.plan.file.reader import Plan

Turn = Literal["", "edge", "order", "mirror"]
"""How a plan is walked: as written; from the other edge, so that the cloth is mirrored; from the
other edge in the opposite order, so that the cloth is the same; in the opposite order alone."""
_BITS: Final[tuple[Turn, ...]] = ("", "edge", "mirror", "order")


def turned_more(turn: Turn, *, is_order: bool) -> Turn:
    """Return what a turn becomes when its plan, or its order too, is begun at the other edge."""
    return _BITS[_BITS.index(turn) ^ _BITS.index("order" if is_order else "edge")]


def turn_of(value: object) -> Turn:
    """Return a turn as it was kept; what is none is as written."""
    return next((turn for turn in _BITS if turn == value), "")


def turned(plan: Plan, turn: Turn) -> Plan:
    """Return a plan as it is walked with a turn; regions of the reed are not turned with it."""
    file = plan.file
    if turn in {"edge", "order"}:
        other = "left" if file.loom.first_end == "right" else "right"
        loom = file.loom.model_copy(update={"first_end": other})
        file = file.model_copy(update={"loom": loom})
    if turn not in {"order", "mirror"}:
        return replace(plan, file=file)
    return replace(plan, file=file, draft=_reversed(plan.draft))


def _reversed(draft: Draft) -> Draft:
    """Return a draft read from its last place to its first."""
    places, passes = len(draft.shafts), max((unit.repeat for unit in draft.units), default=0)
    units = tuple(
        unit._replace(
            number=number,
            repeat=passes + 1 - unit.repeat,
            first=places + 1 - unit.last,
            last=places + 1 - unit.first,
        )
        for number, unit in enumerate(reversed(draft.units), start=1)
    )
    return replace(draft, shafts=draft.shafts[::-1], colours=draft.colours[::-1], units=units)
