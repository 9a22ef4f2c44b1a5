"""What stages and their groups are called, and what is counted in them."""

from collections.abc import Callable, Sequence
from typing import Final

from companion.base.runs import run_lengths
from companion.base.text import plural, span
from companion.job import LeftOut, Stage, StageName, Step, StepGroup
from companion.job.contents import BeamTask, Turns, Waste
from companion.loom.dressing import GroupName
from companion.loom.first_picks import Shed
from companion.wording.weaving import group_name as picks_of_group

TITLES: Final[dict[StageName, str]] = {
    "wind": "winding the warp",
    "wind-second": "winding the second warp",
    "wind-sections": "winding onto the beam in sections",
    "raddle": "spreading in the raddle",
    "beam": "winding on the warp beam",
    "raddle-second": "spreading the second warp in the raddle",
    "beam-second": "winding on the second warp beam",
    "move-heddles": "moving heddles",
    "heddles": "making the heddles ready",
    "thread-and-sley": "threading and sleying",
    "thread": "threading",
    "sley": "sleying",
    "tie-on-rear": "tying on at the warp beam",
    "tie-on": "tying on at the front",
    "tie-up": "tying up the treadles",
    "peg": "pegging the bars",
    "knot": "knotting to the old warp",
    "first-picks": "weaving the first picks",
    "weave": "weaving",
}


def recorded_title(name: str) -> str:
    """Return what a stage of a record is called; the name itself where no stage is called so."""
    return TITLES.get(name, name)  # type: ignore[call-overload, no-any-return]


_FIRST_OF_TWO: Final[dict[StageName, str]] = {
    "wind": "winding the first warp",
    "raddle": "spreading the first warp in the raddle",
    "beam": "winding on the first warp beam",
}
"""What stages of a first warp are called where there is a second."""
_BRIEF_TITLES: Final[dict[StageName, str]] = TITLES | {
    "wind-second": "winding warp 2",
    "wind-sections": "winding in sections",
    "raddle": "raddle",
    "beam": "winding on",
    "raddle-second": "raddle warp 2",
    "beam-second": "winding on beam 2",
    "heddles": "heddles",
    "thread-and-sley": "threading",
    "tie-on-rear": "tying on behind",
    "tie-on": "tying on",
    "tie-up": "tie-up",
    "peg": "pegging",
    "knot": "knotting",
    "first-picks": "first picks",
}
"""What somebody who knows the work calls them."""
ASKED: Final[dict[StageName, str]] = {
    "wind": "ends does it hold at the counting cross",
    "wind-sections": "ends does this section hold",
    "raddle": "of its sections hold ends",
    "move-heddles": "heddles did you move",
    "heddles": "heddles on this shaft",
    "thread-and-sley": "ends are in heddles",
    "thread": "ends are in heddles",
    "sley": "dents hold ends",
    "tie-on": "of its bouts are tied",
    "tie-up": "ties on this treadle",
    "weave": "picks are woven",
    "peg": "pegs are on these bars",
    "knot": "knots are made here",
}
LEFT_OUT: Final = {
    LeftOut.NO_RADDLE: "The plan has no raddle, so spreading is left out.",
    LeftOut.LIFT_PLAN: "The plan has a lift plan and no tie-up, so tying up is left out.",
    LeftOut.NO_TIE_UP: "The plan has no tie-up, so tying up is left out.",
    LeftOut.LEVERS: "Each shaft of this loom has its own lever, so there is nothing to tie up.",
    LeftOut.NO_LIFTS: "The plan does not say what to lift, so pegging is left out.",
    LeftOut.NO_SUCH_TIES: (
        "This loom cannot make the plan's sheds with the treadles there are, so tying up is left "
        "out."
    ),
}


def title(stage: Stage) -> str:
    """Return what a stage is called, in small letters."""
    titles = TITLES | _FIRST_OF_TWO if stage.dressing.whole is not None else TITLES
    return titles[stage.name]


def brief_title(stage: Stage) -> str:
    """Return what somebody who knows the work calls a stage, in small letters."""
    return _BRIEF_TITLES[stage.name]


def count_asked(stage: Stage, *, is_threaded: bool = False) -> str:
    """Return the bare question for the count of a group, or of one that is sleyed anew."""
    return f"How many {'ends are in the reed' if is_threaded else ASKED[stage.work]}?"


def group_name(group: StepGroup, stage: Stage) -> str:
    """Return what a group is called: the plan's name for it, or what it runs over."""
    own = _OWN_NAMES.get(stage.work)
    called = called_group(group.name)
    return called if called or own is None else own(group, stage.steps_of(group))


def called_group(name: GroupName) -> str:
    """Return the plan's name for a group, "block A, pattern 2"."""
    said = [name.own] if name.own else []
    for noun, first, last in name.stretches:
        one = f"{noun} {first}"
        said.append(one if first == last else f"{plural(noun)} {first} to {last}")
    said += [f"part {name.part} of {name.parts}"] if name.part else []
    return ", ".join(said)


def group_title(group: StepGroup, stage: Stage) -> str:
    """Return which group of how many it is, and what it is called, "group 1 of 5, pattern 1"."""
    name = group_name(group, stage)
    return f"group {group.number} of {len(stage.groups)}{f', {name}' if name else ''}"


def stripes_at_cross(group: StepGroup, stage: Stage) -> str:
    """Return the order of a group's colours as it lies at the cross; "" where it is not told."""
    colours = (step.colour for step in stage.steps_of(group) for _ in range(step.ends))
    runs = run_lengths(colours) if stage.tells_stripes else []
    if len(runs) <= 1:
        return ""
    told = (f"{width} {colour or 'of no colour named'}" for colour, width in runs)
    return f"At the cross: {', '.join(told)}."


def _ends(_group: StepGroup, steps: Sequence[Step]) -> str:
    return span("end", steps[0].first_end, steps[-1].last_end)


def _knots(_group: StepGroup, steps: Sequence[Step]) -> str:
    return _ends(_group, steps) if steps[0].first_end else "drawing through"


def _steps(noun: str) -> Callable[[StepGroup, Sequence[Step]], str]:
    """Return what names a group by the numbers of its steps, each of which is a `noun`."""
    return lambda group, _: span(noun, group.first_step, group.last_step)


def _beam(_group: StepGroup, steps: Sequence[Step]) -> str:
    first, last = steps[0].content, steps[-1].content
    if isinstance(first, Turns) and isinstance(last, Turns):
        return span("turn", first.first, last.last)
    if first is BeamTask.WIND_ALL:
        return "all turns"
    return "after the last turn" if first is BeamTask.LEAVE_OFF else "before the first turn"


def _first_picks(_group: StepGroup, steps: Sequence[Step]) -> str:
    first = steps[0].content
    if isinstance(first, Shed):
        return "sheds to look across"
    return "picks of waste" if isinstance(first, Waste) else "faults and what they mean"


_OWN_NAMES: Final[dict[StageName, Callable[[StepGroup, Sequence[Step]], str]]] = {
    "wind": _ends,
    "wind-sections": lambda group, _: span("section", group.number, group.number),
    "knot": _knots,
    "raddle": _steps("section"),
    "beam": _beam,
    "sley": lambda _, steps: span("dent", steps[0].dents[0], steps[-1].dents[0]),
    "tie-on": _steps("bout"),
    "peg": _steps("bar"),
    "first-picks": _first_picks,
    "weave": picks_of_group,
}
