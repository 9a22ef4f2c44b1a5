"""Winding the warp on its beam, turn by turn.

Even tension, packing between the layers, ties undone one at a time, tangles snapped out and never
forced, and leaving off about 12 inches before the castle are from the tutorial at
tygartlakefiberarts.com/wp/?page_id=83; lashing the rod only when the warp is spread is from
weavingfromparadise.guildford.nz, 21 July 2021.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.job.step_builder import Told, ToldGroup, in_stretches, numbered, span
from companion.job.steps import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import BeamPlan, Dressing

MOST_STEPS: Final = 8
"""Steps of turning in one group at most; our own choice."""
_TIES_EVERY: Final = 3
"""Steps from one reminder of the choke ties to the one after; our own choice."""
_CAUTION: Final = (
    "A loaded beam turns with force: keep fingers, hair and sleeves clear of it, know which way "
    "its ratchet and brake let go, and ease it by hand. Get a second person for a heavy warp."
)


def beam_stage(dressing: Dressing, preface: str) -> Stage:
    """Return the beaming; nothing is counted, since turns cannot be told once they are made.

    Args:
        dressing: what is walked.
        preface: what is to be said first, such as why the stage before is left out.
    """
    steps, groups = numbered(_groups(dressing))
    return Stage(
        name="beam",
        title="winding on the warp beam",
        counted="turns",
        steps=steps,
        groups=groups,
        unit_names=(),
        start=" ".join(part for part in (preface, *_start(dressing)) if part),
        dressing=dressing,
        item="step",
        caution=_CAUTION,
    )


def _start(dressing: Dressing) -> Iterator[str]:
    if dressing.beam is not None:
        yield (
            f"The beam takes {_turns(dressing.beam.most_turns)} at most. Leave off sooner, when "
            f"only {_left(dressing)} are left, and confirm the turns that you do not need."
        )
    yield "Hold all of the warp equally tight; shake a tangle out, and never force it."


def _turns(number: int) -> str:
    return "1 turn" if number == 1 else f"{number} turns"


def _left(dressing: Dressing) -> str:
    """Return what stays off the beam to work with."""
    length = "30 centimetres" if dressing.units == "metric" else "12 inches"
    is_front = dressing.method == "front-to-back"
    return f"about {length} in front of the {'reed' if is_front else 'castle'}"


def _groups(dressing: Dressing) -> Iterator[ToldGroup]:
    yield ToldGroup("before the first turn", [_do(words) for words in _preparations(dressing)])
    if dressing.beam is None:
        yield ToldGroup("all turns", [_unnumbered(dressing)])
    else:
        yield from _turning(dressing.beam)
    yield ToldGroup(
        "after the last turn",
        [
            _do(f"leave off with {_left(dressing)}"),
            _do("set the brake or the ratchet, and see that it holds"),
        ],
    )


def _do(words: str, note: str = "") -> Told:
    return Told(words, amount=0, note=note)


def _preparations(dressing: Dressing) -> Iterator[str]:
    if dressing.method == "front-to-back":
        yield "comb the warp out in front of the reed, and hold it in even bouts"
    else:
        if dressing.raddle is not None:
            yield "close the raddle, so that every end stays in its section"
        yield "lash the rod with the loops to the rod of the warp beam, now that it is spread"
        yield "see that both lease sticks lie in the cross, and that their ends are tied"
    yield "lay packing ready that is wider than the warp on both sides"


def _unnumbered(dressing: Dressing) -> Told:
    return _do(
        "wind on turn by turn, packing between the layers",
        f"Untie a choke only when it comes near. Go on until {_left(dressing)} are left.",
    )


def _turning(plan: BeamPlan) -> Iterator[ToldGroup]:
    size, most = plan.turns_a_step, plan.most_turns
    firsts = range(1, most + 1, size)
    steps = [
        _do(span("turn", first, min(first + size - 1, most)), _reminder(number))
        for number, first in enumerate(firsts, start=1)
    ]
    for first, last in in_stretches(1, len(steps), MOST_STEPS):
        upto = min(last * size, most)
        yield ToldGroup(span("turn", firsts[first - 1], upto), steps[first - 1 : last])


def _reminder(step: int) -> str:
    if step == 1:
        return "Lay the packing in from here on."
    if step % _TIES_EVERY == 0:
        return "Packing. Look out for choke ties, and untie only the nearest."
    return "Packing."
