"""What is woven: how often the treadling goes through, for how many pieces, and where to measure.

A treadling at most half as long as its piece is taken for the piece's repeat and woven until it is
long enough, to the end of the unit that makes it so; a longer one is woven once for each piece.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import cycle, islice
from math import ceil, floor

from companion.base.value import Value
from companion.loom.dressing import Dressing
from companion.loom.remarks import LongPieces
from companion.plan.draft.draft import Unit, repeat_units


class Weaving(Value):
    """What is woven with a dressed loom; lengths in inches of cloth off the loom, unwashed."""

    picks: int
    """Picks of the treadling, once through."""
    piece_picks: int
    """Picks of one piece; its last pass may end within the treadling."""
    pieces: int
    picks_per_inch: Fraction | None
    """None where the plan does not give it; nothing is then known to be so long."""
    cloth: Fraction | None
    """What one piece is to be long, its hems included."""
    hem: Fraction
    measure_every: Fraction | None
    """The cloth is measured each time it has grown by so much."""
    fringe: Fraction
    """Warp to leave unwoven before the first piece."""
    between: Fraction
    """Warp to leave unwoven between two pieces."""

    @property
    def passes(self) -> int:
        """How often the treadling is begun for one piece."""
        return -(-self.piece_picks // self.picks)

    def woven(self, pick: int) -> Fraction | None:
        """Return how long a piece is after so many of its picks, or None where not known."""
        return None if self.picks_per_inch is None else pick / self.picks_per_inch

    def measured_at(self) -> frozenset[int]:
        """Return the picks of a piece, from 1, after which the cloth has grown by a measure."""
        if self.picks_per_inch is None or self.measure_every is None:
            return frozenset()
        times = int(self.piece_picks / (self.measure_every * self.picks_per_inch))
        step = self.measure_every * self.picks_per_inch
        return frozenset(ceil(step * number) for number in range(1, times + 1))

    def hems_at(self) -> tuple[int, int]:
        """Return the pick that ends the first hem and the one before the second; 0 for none."""
        if not self.hem or self.picks_per_inch is None or self.cloth is None:
            return 0, 0
        second = floor((self.cloth - self.hem) * self.picks_per_inch)
        return ceil(self.hem * self.picks_per_inch), second if second < self.piece_picks else 0


def weaving(dressing: Dressing) -> Weaving | None:
    """Return what is woven, or None where the plan has neither a treadling nor a lift plan."""
    picks = len(dressing.draft.moves)
    if not picks:
        return None
    yarns, per_inch = dressing.yarns, dressing.picks_per_inch
    none = Fraction(0)
    wanted, cloth = (yarns.wanted, yarns.length.cloth_each) if yarns else (None, None)
    needed = 0 if cloth is None or per_inch is None else ceil(cloth * per_inch)
    return Weaving(
        picks=picks,
        piece_picks=_piece_picks(dressing, needed) if 2 * picks <= needed else picks,
        pieces=wanted.pieces if wanted else 1,
        picks_per_inch=per_inch,
        cloth=cloth,
        hem=wanted.hem / (1 - wanted.shrinkage) if wanted else none,
        measure_every=dressing.measure_every,
        fringe=wanted.fringe if wanted else none,
        between=2 * wanted.fringe + wanted.gap if wanted else none,
    )


def units(dressing: Dressing) -> Sequence[Unit]:
    """Return the passes of the treadling's parts, once through."""
    draft = dressing.draft
    return draft.pick_units or repeat_units(draft.moves)


def _piece_picks(dressing: Dressing, needed: int) -> int:
    rest = needed % len(dressing.draft.moves)
    ends = (unit.last for unit in units(dressing) if unit.last >= rest)
    return needed - rest + (next(ends) if rest else 0)


def remarks(dressing: Dressing) -> Iterator[LongPieces]:
    """Yield a remark where the pieces as they are woven take more warp than is wound."""
    plan, yarns = weaving(dressing), dressing.yarns
    woven = plan.woven(plan.piece_picks) if plan else None
    if plan is None or yarns is None or woven is None or plan.cloth is None:
        return
    more = (woven - plan.cloth) * plan.pieces / (1 - yarns.wanted.take_up)
    short = more - (yarns.wind - yarns.length.total)
    if short > 0:
        yield LongPieces(plan.piece_picks, woven, plan.cloth, short, dressing.units)


def weft_colours(dressing: Dressing, passes: int = 1) -> tuple[str, ...]:
    """Return the colour of each pick in so many passes of the draft, "" where none is named.

    Wefts that take turns do so from the first of them on, whatever the passes.
    """
    draft = dressing.draft
    picks = len(draft.moves)
    turns = weft_turns(dressing)
    if any(turns):
        return tuple(islice(cycle(turns), picks * passes))
    return (*draft.weft[:picks], *[""] * (picks - len(draft.weft))) * passes


def weft_turns(dressing: Dressing) -> tuple[str, ...]:
    """Return the colours of one turn of the plan's wefts, pick by pick; () where it has none."""
    needs = dressing.yarns.needs if dressing.yarns else ()
    wefts = [each for each in needs if each.use == "weft"]
    return tuple(each.colour for each in wefts for _ in range(each.share))
