"""The heddles each shaft needs, how they lie about the centre, and what to do with too few."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from companion.loom.dressing import HeddleMove, ShaftHeddles
from companion.loom.remarks import IdleShafts, Lopsided, Remark
from companion.plan.file.reader import Plan

LOPSIDED_HEDDLES = 12
"""Heddles by which the halves of a shaft may differ before it is worth a word; our own choice."""


def heddles(plan: Plan) -> tuple[ShaftHeddles, ...]:
    """Return the heddles of every shaft, shaft 1 first; a place in the centre counts before it."""
    shafts = plan.draft.shafts
    middle = (len(shafts) + 1) // 2
    before, after = Counter(shafts[:middle]), Counter(shafts[middle:])
    have = plan.file.loom.heddles
    return tuple(
        ShaftHeddles(
            shaft=shaft,
            needed=before[shaft] + after[shaft],
            before_centre=before[shaft],
            after_centre=after[shaft],
            have=have[shaft - 1] if have is not None and shaft <= len(have) else None,
        )
        for shaft in range(1, plan.file.loom.shafts + 1)
    )


def heddle_moves(rows: Sequence[ShaftHeddles]) -> tuple[HeddleMove, ...]:
    """Return what others can give each short shaft, most to spare first, nothing twice."""
    spare = {row.shaft: row.have - row.needed for row in rows if row.have is not None}
    moves: list[HeddleMove] = []
    for row in rows:
        missing = row.short
        for giver in sorted(spare, key=lambda shaft: (-spare[shaft], shaft)):
            given = min(missing, spare[giver])
            if given > 0:
                moves.append(HeddleMove(given, giver, row.shaft))
                spare[giver] -= given
                missing -= given
    return tuple(moves)


def once_moved(
    rows: Sequence[ShaftHeddles], moves: Sequence[HeddleMove]
) -> tuple[ShaftHeddles, ...]:
    """Return the heddles of every shaft as they hang when all moves are made."""
    more: Counter[int] = Counter()
    for move in moves:
        more[move.to_shaft] += move.number
        more[move.from_shaft] -= move.number
    return tuple(
        row if row.have is None else replace(row, have=row.have + more[row.shaft]) for row in rows
    )


def is_lopsided(row: ShaftHeddles) -> bool:
    """Return whether the halves of a shaft differ by a quarter of its heddles, and by a dozen."""
    apart = abs(row.before_centre - row.after_centre)
    return apart >= LOPSIDED_HEDDLES and apart * 4 >= row.needed


def notes(plan: Plan, rows: Sequence[ShaftHeddles]) -> list[Remark]:
    """Return remarks on shafts loaded to one side and on shafts of the loom left unused.

    A shaft heavier at one end may rise askew or hang up ("Notes from the Fell: On Heddle
    Management", Handwoven, November/December 2022).
    """
    near = plan.file.loom.first_end
    far = "left" if near == "right" else "right"
    found: list[Remark] = [Lopsided(row, near, far) for row in rows if is_lopsided(row)]
    idle = tuple(row.shaft for row in rows if not row.needed)
    return [*found, IdleShafts(idle)] if idle else found
