"""In one breath what somebody who knows the work must hear to begin a stage.

What differs from plan to plan follows what the stage is called; what cannot be made good, or needs
a sentence of its own, comes after.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from companion.base.text import counted, sentence
from companion.job import LeftOut, Stage, StageName, left_out
from companion.loom.dressing import Dressing
from companion.wording.stages import brief_title
from companion.wording.ways import dent_at_centre, is_from_centre, second_held
from companion.wording.weaving import fringe_told, whole_length

_WITHOUT: Final = {
    LeftOut.NO_RADDLE: "without a raddle",
    LeftOut.LIFT_PLAN: "by the lift plan",
    LeftOut.NO_TIE_UP: "without a tie-up",
    LeftOut.LEVERS: "with the levers",
    LeftOut.NO_LIFTS: "without pegs",
    LeftOut.NO_SUCH_TIES: "with no tie-up that this loom can have",
}


def in_one_breath(stage: Stage) -> str:
    """Return what a stage is called and what must be known to begin it."""
    where = _FROM[stage.work](stage) if stage.work in _FROM else ""
    named = f"{brief_title(stage)} from {where}" if where else brief_title(stage)
    told = _BREATHS[stage.work](stage) if stage.work in _BREATHS else ()
    more = _MORE[stage.work](stage.dressing) if stage.work in _MORE else ()
    return " ".join((sentence(", ".join((named, *told))), *more))


def _pass_from(stage: Stage) -> str:
    """Return where a pass begins, from where the weaver stands; "" where its dent tells it."""
    dressing, name = stage.dressing, stage.name
    is_behind = dressing.method == "front-to-back" and name != "sley"
    if is_from_centre(dressing):
        if is_behind:
            return f"the centre to your {dressing.first_end} first, behind the loom"
        return f"the centre to the {dressing.last_edge} first" if name == "thread" else ""
    empty = 0 if name == "thread" else dressing.sley.empty_before
    after = f" after {counted(empty, 'dent')}" if empty else ""
    where = f"your {dressing.last_edge} behind the loom" if is_behind else _edge(stage)
    return f"{where}{after}"


def _pass(stage: Stage) -> Iterator[str]:
    dressing, name = stage.dressing, stage.name
    is_central = is_from_centre(dressing)
    if not _pass_from(stage):
        yield f"{dressing.last_edge} first, from {dent_at_centre(dressing)}"
    if dressing.back_at and not is_central:
        yield f"all {dressing.thread_first} ends first"
    if not (is_central or dressing.sley.empty_before or name == "thread"):
        yield "in the reed's own first dent"
    if name != "sley":
        yield _shaft_one(dressing)


def _edge(stage: Stage) -> str:
    return f"the {stage.dressing.first_end}"


def _shaft_one(dressing: Dressing) -> str:
    return f"shaft 1 {'in front' if dressing.shaft_one == 'front' else 'at the rear'}"


def _wind(stage: Stage) -> Iterator[str]:
    dressing = stage.dressing
    if dressing.wound_together > 1:
        yield f"{dressing.wound_together} ends at once"
    if dressing.yarns is not None:
        yield f"each end {whole_length(dressing.yarns.wind, dressing)} long"


def _raddle(stage: Stage) -> Iterator[str]:
    plan = stage.dressing.raddle
    if plan is None:
        return
    if plan.empty_before is None:
        yield f"{counted(plan.half, 'section')} before the centre"
    else:
        empty = plan.empty_before
        yield f"{empty} empty" if empty else "in the raddle's own first section"


def _beam(stage: Stage) -> Iterator[str]:
    dressing = stage.dressing
    yield from _without(dressing, "raddle")
    if dressing.beam is not None:
        yield f"{counted(dressing.beam.most_turns, 'turn')} at most"
    if dressing.beam_number > 1 and dressing.second_tension != "alike":
        yield f"{dressing.second_tension} than the first"


def _without(dressing: Dressing, name: StageName) -> Iterator[str]:
    why = left_out(dressing).get(name)
    if why is not None:
        yield _WITHOUT[why]


def _tie_on(stage: Stage) -> Iterator[str]:
    if stage.name == "tie-on-rear":
        yield "as seen from behind"


def _tie_up(stage: Stage) -> Iterator[str]:
    plan = stage.dressing.tie_up
    yield _shaft_one(stage.dressing)
    if plan is not None and plan.way == "a-shed-each":
        yield "a treadle for each shed"


def _first_picks(stage: Stage) -> Iterator[str]:
    yield from _without(stage.dressing, "tie-up")
    yield from _without(stage.dressing, "peg")
    yield "looking or feeling through each shed"


def _knot(stage: Stage) -> Iterator[str]:
    is_front = stage.dressing.method == "front-to-back"
    yield "in front of the reed" if is_front else "behind the heddles"


def _sections(stage: Stage) -> Iterator[str]:
    plan = stage.dressing.sections
    if plan is not None:
        yield f"{max(plan.counts)} spools"
        if plan.empty_before:
            yield f"{counted(plan.empty_before, 'section')} empty"


def _outward(stage: Stage) -> str:
    held = second_held(stage.dressing) if stage.dressing.warps else ""
    return f"the centre outward{held}"


_FROM: Final[Mapping[StageName, Callable[[Stage], str]]] = {
    "wind-sections": _edge,
    "knot": _edge,
    "raddle": lambda stage: f"your {stage.dressing.last_edge} at the back",
    "thread-and-sley": _pass_from,
    "thread": _pass_from,
    "sley": _pass_from,
    "tie-on": _outward,
}
"""Where a stage begins, to follow its name and "from"."""
_BREATHS: Final[Mapping[StageName, Callable[[Stage], Iterator[str]]]] = {
    "wind": _wind,
    "wind-sections": _sections,
    "knot": _knot,
    "raddle": _raddle,
    "beam": _beam,
    "move-heddles": lambda stage: iter((_shaft_one(stage.dressing),)),
    "heddles": lambda stage: iter((_shaft_one(stage.dressing),)),
    "thread-and-sley": _pass,
    "thread": _pass,
    "sley": _pass,
    "tie-on": _tie_on,
    "tie-up": _tie_up,
    "first-picks": _first_picks,
}
_MORE: Final[Mapping[StageName, Callable[[Dressing], Iterator[str]]]] = {
    "raddle": lambda _: iter(("Tie the sticks, then cut.",)),
    "weave": fringe_told,
}
