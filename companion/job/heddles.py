"""Making the heddles ready: as many on each shaft as the warp takes, right and left of the centre.

With exact numbers set aside, a heddle left over or lacking in the end shows an error
(wovenbywood.com, 11 February 2025); balancing them right and left keeps a shaft from rising askew
(doubleweaver.com, "A Little About Heddles").
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.job.sides import near_and_far, shaft_one
from companion.job.step_builder import Told, ToldGroup, number_of, numbered
from companion.job.steps import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing, ShaftHeddles


def heddles_stage(dressing: Dressing) -> Stage:
    """Return a step for every shaft of the loom, each counted by itself."""
    steps, groups = numbered(_group(dressing, row) for row in dressing.heddles)
    return Stage(
        name="heddles",
        title="making the heddles ready",
        counted="heddles",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(_start(dressing)),
        dressing=dressing,
        item="shaft",
        asked="heddles stand ready on it",
    )


def _start(dressing: Dressing) -> Iterator[str]:
    yield "Push the heddles apart, so that the warp passes through the middle."
    yield "Set apart on each shaft just as many as are told, and push the others to the sides."
    yield shaft_one(dressing)


def _group(dressing: Dressing, row: ShaftHeddles) -> ToldGroup:
    return ToldGroup(
        "",
        [_told(dressing, row)],
        too_few=_shortage(dressing, row),
        too_many="heddles that are not needed taken in as well",
    )


def _told(dressing: Dressing, row: ShaftHeddles) -> Told:
    if not row.needed:
        return Told(f"shaft {row.shaft}: none; push all its heddles to the sides", amount=0)
    near, far = near_and_far(dressing)
    words = (
        f"shaft {row.shaft}: {number_of(row.needed, 'heddle')}, {row.before_centre} {near} and "
        f"{row.after_centre} {far} of the centre, seen from the front"
    )
    spare = _spare(row)
    return Told(words, row.needed, f"It carries {spare} more." if spare else "")


def _spare(row: ShaftHeddles) -> int:
    return 0 if row.have is None else max(0, row.have - row.needed)


def _shortage(dressing: Dressing, row: ShaftHeddles) -> str:
    """Return what to do where a shaft turns out to have too few, the richest giver first."""
    givers = sorted(
        (other for other in dressing.heddles if other.shaft != row.shaft and _spare(other)),
        key=lambda other: (-_spare(other), other.shaft),
    )
    spare = " and ".join(
        f"shaft {other.shaft} has {_spare(other)} to spare" for other in givers[:2]
    )
    return "heddles lacking on this shaft" + (f": {spare}" if spare else "")
