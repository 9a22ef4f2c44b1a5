"""From dents left over, and from the ends felt in each dent, to the likely slips of sleying."""

from collections.abc import Iterator

from companion.diagnosis.align import SLACK, Diagonals, Move, Point, paths
from companion.diagnosis.diagnose import MOST_TOLD
from companion.diagnosis.moves import FeltMoves
from companion.diagnosis.slips import Advice, Diagnosis, Findings, Slip, SlipKind, Span

_PAIR = 2
_MOST_DENTS_OUT = 6
"""With more dents out than this the sley order itself was another."""


def dent_diagnoses(
    planned: tuple[int, ...],
    dents_used_more: int | None = None,
    felt: tuple[int, ...] | None = None,
    first_dent: int = 1,
) -> Findings:
    """Return the likeliest explanations of what was found in the reed.

    Dents used beyond the plan are skipped dents less doubled ones, so one of each cancels out:
    only the ends felt in each dent tell that, and where.

    Args:
        planned: ends in each dent that was checked.
        dents_used_more: dents used beyond the plan (below 0: fewer); None: not counted.
        felt: ends felt in each dent, from the first dent on; a row that ends early tells nothing
            of the rest. None: not felt.
        first_dent: the number of the first dent that was checked, from 1.
    """
    if felt is not None:
        return _felt(planned, felt, first_dent)
    if not dents_used_more:
        return Findings((), (Advice.ORDER_UNSEEN,))
    if abs(dents_used_more) > _MOST_DENTS_OUT:
        return Findings((), (Advice.READ_BACK,))
    last = first_dent + len(planned) - 1
    places = tuple(Span(dent, dent) for dent in range(first_dent, last + 1))
    kind = SlipKind.SKIPPED_DENT if dents_used_more > 0 else SlipKind.DOUBLED_DENT
    slip = Slip(kind, first_dent, first_dent, places=places)
    return Findings((Diagnosis((slip,) * abs(dents_used_more)),))


def _felt(planned: tuple[int, ...], felt: tuple[int, ...], first_dent: int) -> Findings:
    goal = Point(len(planned), len(felt))
    moves = _SleyMoves(first_dent, planned, felt)
    dents = Diagonals(planned, felt)
    found = paths(dents, goal, moves) or paths(dents, goal, moves, is_whole=False)[:1]
    if not found:
        return Findings((), (Advice.READ_BACK,))
    told = [path for path in found if path.moves and path.cost <= found[0].cost + SLACK]
    slips = (tuple(move.slip(move.span) for move in path.moves) for path in told[:MOST_TOLD])
    return Findings(tuple(Diagnosis(each) for each in slips) if found[0].cost else ())


class _SleyMoves(FeltMoves):
    """Slips of sleying, each of which can be in one place alone."""

    def __call__(self, difference: Point, since: int) -> Iterator[Move]:  # noqa: ARG002 - all start here
        planned = self._planned[difference.planned : difference.planned + _PAIR]
        felt = self._felt[difference.found : difference.found + _PAIR]
        if felt and felt[0] == 0:
            yield self._move(SlipKind.SKIPPED_DENT, difference, 0, 1)
        if len(planned) == _PAIR and felt and felt[0] == sum(planned):
            yield self._move(SlipKind.DOUBLED_DENT, difference, 2, 1)
        if planned and felt:
            yield self._move(SlipKind.WRONG_DENT, difference, 1, 1)
        if len(planned) == _PAIR and planned == felt[::-1]:
            yield self._move(SlipKind.WRONG_DENT, difference, 2, 2)
        if planned and planned[0] == 0:  # a dent that was to stay empty was used
            yield self._move(SlipKind.DOUBLED_DENT, difference, 1, 0)
