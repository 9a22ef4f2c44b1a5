"""Weaving, pick by pick, with a group at every repeat or few of them."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import attrgetter
from typing import Final, NamedTuple

from companion.job.contents import ClothMark, Pick, Unwoven
from companion.job.step_builder import in_groups, in_stretches
from companion.job.steps import Danger, Stage, Step
from companion.loom.dressing import Dressing
from companion.loom.weaving import Weaving, units, weaving, weft_colours
from companion.plan.draft.lifts import lifted_shafts

MOST_PICKS: Final = 24
"""Picks counted together at most, where a repeat is no longer; as many as ends. Our own choice."""


class _Pass(NamedTuple):
    """One pass of a part of the treadling."""

    piece: int
    name: str
    repeat: int
    """Which pass of the same picks in a row it is, from 1."""
    run: int
    """The same for all passes in such a row."""
    first: int
    """Its first pick, from 1 over all pieces."""
    last: int


def weave_stage(dressing: Dressing) -> Stage:
    """Return the weaving of all pieces, a pick a step, counted at the repeats."""
    plan = weaving(dressing)
    if plan is None:
        raise ValueError("expected a plan with a treadling or a lift plan")
    passes = tuple(_passes(dressing, plan))
    picks = tuple(_steps(dressing, plan, passes))
    counted = (picks[span[0] - 1 : span[-1]] for span in _spans(passes))
    return Stage(
        "weave",
        "pick",
        *in_groups(counted),
        dressing,
        item="pick",
        danger=Danger.WEAVING,
        unit_names=tuple(each.name for each in passes),
    )


def _passes(dressing: Dressing, plan: Weaving) -> Iterator[_Pass]:
    moves = dressing.draft.moves
    run = repeat = 0
    for piece in range(1, plan.pieces + 1):
        own: object = None
        for turn in range(plan.passes):
            begun = turn * plan.picks
            before = (piece - 1) * plan.piece_picks + begun
            for unit in units(dressing):
                if begun + unit.first > plan.piece_picks:
                    break
                last, own = own, (unit.name, moves[unit.first - 1 : unit.last])
                run, repeat = (run, repeat + 1) if own == last else (run + 1, 1)
                yield _Pass(piece, unit.name, repeat, run, before + unit.first, before + unit.last)


def _spans(passes: Sequence[_Pass]) -> Iterator[Sequence[int]]:
    """Yield the picks that are counted together, from 1 over all pieces."""
    for _, alike in groupby(passes, key=attrgetter("run")):
        first, last = 0, 0
        for each in alike:
            if first and each.last - first >= MOST_PICKS:
                yield from in_stretches(range(first, last + 1), MOST_PICKS)
                first = 0
            first, last = first or each.first, each.last
        yield from in_stretches(range(first, last + 1), MOST_PICKS)


def _steps(dressing: Dressing, plan: Weaving, passes: Sequence[_Pass]) -> Iterator[Step]:
    treadled, lifted = _moves(dressing)
    colours = weft_colours(dressing, plan.passes)
    for unit, turn in enumerate(passes):
        for number in range(turn.first - 1, turn.last):
            in_piece = number % plan.piece_picks
            at = in_piece % plan.picks
            yield Step(
                colour=colours[in_piece],
                unit=unit,
                content=Pick(treadled[at], lifted[at], turn.piece, turn.name, turn.repeat),
                notes=tuple(_marks(plan, in_piece + 1, is_last=turn.piece == plan.pieces)),
            )


def _moves(dressing: Dressing) -> tuple[Sequence[tuple[int, ...]], Sequence[tuple[int, ...]]]:
    """Return for each pick the treadles to press, none where levers are raised, and the shed."""
    lifted = tuple(tuple(sorted(shafts)) for shafts in lifted_shafts(dressing.draft))
    ties = dressing.tie_up
    is_treadled = not dressing.draft.lifts and ties is not None and ties.picks
    return (ties.picks if ties and is_treadled else ((),) * len(lifted)), lifted


def _marks(plan: Weaving, pick: int, *, is_last: bool) -> Iterator[ClothMark | Unwoven]:
    woven = plan.woven(pick)
    hem, second = plan.hems_at()
    if pick == plan.piece_picks:
        yield ClothMark("piece", woven, plan.cloth)
        if plan.between and not is_last:
            yield Unwoven(plan.between)
        elif plan.fringe:
            yield Unwoven(plan.fringe)
    elif pick == hem:
        yield ClothMark("hem", woven)
    elif pick == second:
        yield ClothMark("second-hem", woven)
    elif pick in plan.measured_at():
        yield ClothMark("measure", woven)
