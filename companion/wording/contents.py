"""The wording of steps that are not threaded or sleyed: each as what it handles, and what to do."""

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from companion.base.text import counted, in_breaths, numbered, span
from companion.job import Stage, Step
from companion.job.contents import Bar, BeamTask, ClothFault, Knot, KnotTask, Section, Turns, Waste
from companion.loom.dressing import HeddleMove, ShaftHeddles
from companion.loom.first_picks import Shed
from companion.loom.tie_on import Bout
from companion.loom.tie_up import Ties
from companion.loom.winding import AlikeRounds
from companion.wording.ways import section_told, warp_left


class Told(NamedTuple):
    """A step in words."""

    name: str
    """What it handles, "end 37"; "" where that is not worth a name."""
    what: str
    """What to do with it, "shaft 1, dent 37"."""

    def __str__(self) -> str:
        return ": ".join(part for part in self if part)


_BEAM_TASKS: Final = {
    BeamTask.COMB_OUT: "comb the warp out in front of the reed, and hold it in even bouts",
    BeamTask.CLOSE_RADDLE: "close the raddle, so that every end stays in its section",
    BeamTask.LASH_ROD: "lash the rod with the loops to the rod of the warp beam",
    BeamTask.CHECK_STICKS: "see that both lease sticks lie in the cross, their ends tied",
    BeamTask.LAY_PACKING: "lay packing ready that is wider than the warp on both sides",
    BeamTask.WIND_ALL: "wind on turn by turn, packing between the layers",
    BeamTask.LEAVE_OFF: "leave off with {left}",
    BeamTask.SET_BRAKE: "set the brake or the ratchet, and see that it holds",
}
_KNOT_TASKS: Final = {
    KnotTask.TUG: "tug at each knot from edge to edge, and tie anew what slips",
    KnotTask.DRAW: "draw the knots through {way}, a few at a time, and never force one",
}
_FAULTS: Final = {
    ClothFault.ALIKE: Told(
        "two neighbours always together",
        "one shaft threaded twice running, or an end on a wrong shaft",
    ),
    ClothFault.GAP: Told("a gap along the cloth", "a dent skipped"),
    ClothFault.DENSE_LINE: Told(
        "a dense line along the cloth", "a dent with the ends of two in it"
    ),
    ClothFault.NEVER_UP: Told(
        "an end that never comes up", "left out of its heddle, or caught behind another"
    ),
    ClothFault.IN_BETWEEN: Told(
        "an end in between the layers of a shed", "crossed with its neighbour, in heddles or reed"
    ),
    ClothFault.KINK: Told(
        "a kink in a slanting line", "two ends that have changed places, or one on a wrong shaft"
    ),
    ClothFault.SHIFTED: Told(
        "a whole stretch turned or shifted", "a unit threaded in reverse, left out or put in twice"
    ),
}
_WAYS: Final = {
    "sheds": f"with {span('shed', 1, 2)} by turns",
    "treadling": "as the treadling of the plan begins",
    "shafts": "with one shaft after the other",
}


def told(step: Step, stage: Stage) -> Told:
    """Return a step that is told neither by its shafts nor by its dents."""
    if stage.name == "heddles":
        row = stage.dressing.heddles[step.number - 1]
        return Told(f"shaft {row.shaft}", _heddles(row, stage))
    return _TOLD[type(step.content)](step.content, step, stage)


def _wound(wound: AlikeRounds, _step: Step, stage: Stage) -> Told:
    total = len(stage.dressing.ends)
    rounds = _rounds(wound, stage.dressing.wound_together)
    if wound.first == 1 and stage.dressing.wound_together == 1:
        return Told("", f"wind the first {wound.last} of {total} ends")
    if wound.last == total and stage.dressing.wound_together == 1:
        last = f"the last {wound.ends}" if wound.ends > 1 else "the last"
        return Told("", f"wind {last} of {total} ends")
    return Told("", f"wind {rounds}, which makes {wound.last} of {total}")


def _ties(ties: Ties, step: Step, stage: Stage) -> Told:
    is_both = stage.dressing.loom_kind == "countermarch"
    shafts = len(stage.dressing.heddles)
    return Told(f"treadle {step.number}", tied(ties, is_both=is_both, shafts=shafts))


def _knot_task(task: KnotTask, _step: Step, stage: Stage) -> Told:
    is_front = stage.dressing.method == "front-to-back"
    way = "reed and heddles" if is_front else "heddles and reed"
    return Told("", _KNOT_TASKS[task].format(way=way))


def _move(move: HeddleMove, _step: Step, _stage: Stage) -> Told:
    between = f"from shaft {move.from_shaft} to shaft {move.to_shaft}"
    return Told(between, f"move {counted(move.number, 'heddle')}")


def _waste(waste: Waste, _step: Step, _stage: Stage) -> Told:
    woven = f"weave {counted(waste.picks, 'pick')} of waste {_WAYS[waste.way]}"
    return Told("", f"{woven}, and beat them close")


def _rounds(wound: AlikeRounds, together: int) -> str:
    ends = counted(wound.ends, "end")
    if together == 1:
        return ends
    if wound.ends == wound.together:
        return f"{ends} {'alone' if wound.ends == 1 else 'together'}"
    return f"{ends} in {wound.ends // wound.together} rounds of {wound.together}"


def _place(bout: Bout, stage: Stage) -> str:
    if not bout.rank:
        return "at the centre"
    is_rear = stage.name == "tie-on-rear"
    is_first_side = (bout.place == "near") != is_rear
    side = stage.dressing.first_end if is_first_side else stage.dressing.last_edge
    return f"{bout.rank} {side} of centre"  # seen from where she stands, as the opening says


def tied(ties: Ties, *, is_both: bool, shafts: int = 0) -> str:
    """Return the shafts tied to a treadle, and which way they go on a loom that ties both ways.

    Where all `shafts` of the loom are tied, those that go down are called the others.
    """
    if not ties.number:
        return "leave it without ties"
    if not is_both:
        return in_breaths("shaft", ties.up or ties.down)
    up = f"{in_breaths('shaft', ties.up)} up" if ties.up else ""
    is_every = ties.up and len(ties.up) + len(ties.down) == shafts
    others = "the others" if is_every else in_breaths("shaft", ties.down)
    down = f"{others} down" if ties.down else ""
    return "; ".join(part for part in (up, down) if part)


def _shed(shed: Shed) -> str:
    raised = f"raise {in_breaths('shaft', shed.shafts)}"
    if shed.treadles:
        raised += f" with {numbered('treadle', shed.treadles)}"
        raised += " together" if len(shed.treadles) > 1 else ""
    return raised


def _heddles(row: ShaftHeddles, stage: Stage) -> str:
    if not row.needed:
        return "no heddles; push them all to the sides"
    near, far = stage.dressing.first_end, stage.dressing.last_edge
    sides = f"{row.before_centre} {near}, {row.after_centre} {far}"
    if row.before_centre == row.after_centre:
        sides = "half on each side"
    return f"{counted(row.needed, 'heddle')}, {sides}"


_TOLD: Final[dict[type, Callable[[Any, Step, Stage], Told]]] = {
    type(None): lambda _, step, __: Told(
        f"section {step.number}", counted(step.ends, "end") if step.ends else "leave it empty"
    ),
    AlikeRounds: _wound,
    Bout: lambda bout, step, stage: Told(
        f"bout {step.number}, {_place(bout, stage)}", counted(bout.ends, "end")
    ),
    Ties: _ties,
    Bar: lambda bar, step, _: Told(
        f"bar {step.number}", in_breaths("peg", bar.shafts) if bar.shafts else "no pegs"
    ),
    Section: lambda section, _, stage: Told(
        "" if section.turns else f"section {section.number}", section_told(section, stage.dressing)
    ),
    Knot: lambda _, step, __: Told("", f"end {step.first_end}"),
    KnotTask: _knot_task,
    HeddleMove: _move,
    Turns: lambda turns, *_: Told("", span("turn", turns.first, turns.last)),
    BeamTask: lambda task, _, stage: Told(
        "", _BEAM_TASKS[task].format(left=warp_left(stage.dressing))
    ),
    Shed: lambda shed, step, _: Told(f"shed {step.number}", _shed(shed)),
    Waste: _waste,
    ClothFault: lambda fault, *_: _FAULTS[fault],
}
