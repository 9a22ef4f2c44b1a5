"""A second warp on a beam of its own: which ends it has, and each warp as a dressing by itself.

Ends that take up more or less than their neighbours, as the slack stripes of seersucker or the
second layer of some double cloths do, are wound apart, each warp to its own length, and held each
at its own tension: common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle, islice
from typing import Final

from companion.loom.dressing import BeamPlan, Dressing, Yarns
from companion.loom.raddle import raddle_of
from companion.loom.yarns import yarns
from companion.plan.fault import Fault, Path
from companion.plan.file.reader import Plan
from companion.plan.threading.notation import read_numbers

_BEAMS = frozenset({1, 2})
_PATH: Path = ("second_beam",)


def beam_of_place(plan: Plan) -> tuple[int, ...]:
    """Return the beam, 1 or 2, that the ends in each heddle come from."""
    table, draft = plan.file.second_beam, plan.draft
    if table is None:
        return (1,) * len(draft.shafts)
    if table.order is not None:
        return tuple(islice(cycle(read_numbers(table.order)), len(draft.shafts)))
    if table.colour is not None:
        return tuple(1 + (colour == table.colour) for colour in draft.colours)
    shafts = frozenset(read_numbers(table.shafts or "1"))
    return tuple(1 + (shaft in shafts) for shaft in draft.shafts)


def beam_faults(plan: Plan) -> Iterator[Fault]:
    """Yield what keeps the ends from lying on two beams."""
    table = plan.file.second_beam
    if table is None:
        return
    if plan.file.loom.method == "front-to-back":
        yield Fault(
            _PATH,
            "expected a loom dressed from back to front for a second beam, found front-to-back",
            'Write method = "back-to-front" under [loom], or take second_beam out',
        )
    if plan.file.length is None and (table.take_up is not None or table.loom_waste is not None):
        yield Fault(
            _PATH,
            "expected [length] for the second warp's length to go by, and there is none",
            "Add [length], or take out take_up and loom_waste here",
        )
    found = frozenset(beam_of_place(plan))
    if found > _BEAMS or not found <= _BEAMS:
        beyond = max(found - _BEAMS)
        yield Fault(
            (*_PATH, "order"), f"expected beams 1 and 2, found {beyond}", 'Write it as in "1-2"'
        )
    elif found != _BEAMS:
        key = next(key for key in ("shafts", "colour", "order") if getattr(table, key))
        all_on = "all of them on it" if found == {2} else "none on it"
        yield Fault(
            (*_PATH, key),
            f"expected some ends on the second beam and some on the first, found {all_on}",
            "Correct it, or take second_beam out",
        )


def warps(plan: Plan, whole: Dressing) -> tuple[Dressing, ...]:
    """Return each warp as a dressing of its own ends, counted from 1; () where there is but one."""
    if plan.file.second_beam is None:
        return ()
    return tuple(_warp(plan, whole, number) for number in (1, 2))


def _warp(plan: Plan, whole: Dressing, number: int) -> Dressing:
    own = [end for end in whole.ends if end.beam == number]
    ends = tuple(end._replace(number=at) for at, end in enumerate(own, start=1))
    lengths = yarns(plan, whole.sley, whole.ends, number)
    return replace(
        whole,
        ends=ends,
        sett=whole.sett * len(ends) / len(whole.ends),
        raddle=raddle_of(plan, [end.dent for end in ends], whole.sley.floating),
        yarns=lengths,
        beam=beam(plan, lengths, number),
        warps=(),
        whole=whole,
        beam_number=number,
    )


LEFT_INCHES: Final = 12
"""Warp left off the beam, in front of the castle, to thread with (the tutorial at
tygartlakefiberarts.com/wp/?page_id=83)."""


def beam(plan: Plan, yarns: Yarns | None, number: int = 1) -> BeamPlan | None:
    """Return the turns of the bare beam that the wound warp comes to, less what is left off it.

    The turns are the most it can take, and the weaver leaves off sooner: each layer makes the next
    turn longer, and some of the warp lies between beam and shafts. Number 2 is a second beam,
    which may be of another size.
    """
    table = plan.file.beam
    if table is None or yarns is None:
        return None
    second = plan.file.second_beam if number > 1 else None
    around = second.around if second and second.around else table.around
    turn = plan.file.inches(around)
    return BeamPlan(max(1, int((yarns.wind - LEFT_INCHES) / turn)), table.turns_a_step)
