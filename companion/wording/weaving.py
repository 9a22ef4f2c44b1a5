"""The wording of weaving: what each pick presses or raises, where to measure, how to begin."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil
from typing import Final

from companion.base.text import breaths, counted, in_breaths, listed, noun_for, numbered, span
from companion.command.size import Detail
from companion.job import Stage, Step, StepGroup
from companion.job.contents import ClothMark, Pick, Unwoven
from companion.loom.dressing import Dressing
from companion.loom.weaving import weaving
from companion.wording.contents import Told
from companion.yarn.counts import CM_PER_INCH

_QUARTERS: Final = ("", "a quarter", "a half", "three quarters")
_AFTER_WHOLE: Final = {"three quarters": "three quarter"}


def picks_told(steps: Sequence[Step], stage: Stage, detail: Detail) -> Told:
    """Return picks of one colour: "pick 37", "treadles 1 and 3, white", or only what differs."""
    moves = [_moved(step) for step in steps]
    if detail == "shafts":
        return Told("", _listed(moves))
    noun = _noun(steps[0])
    many = f"{noun_for(sum(map(len, moves)), noun)} {_listed(moves)}"
    told = numbered(noun, moves[0]) if len(moves) == 1 else many
    if detail == "short":
        return Told("", told)
    colour = steps[0].colour if has_colours(stage) else ""
    name = span("pick", steps[0].number, steps[-1].number)
    return Told(name, f"{told}, {colour}" if colour else told)


def has_colours(stage: Stage) -> bool:
    """Return whether the weft changes its colour, so that each pick is worth telling it."""
    return any(step.is_new_colour for step in stage.steps[1:])


def _noun(step: Step) -> str:
    return "treadle" if isinstance(step.content, Pick) and step.content.treadles else "shaft"


def _moved(step: Step) -> tuple[int, ...]:
    pick = step.content
    return (pick.treadles or pick.lifted) if isinstance(pick, Pick) else ()


def _listed(moves: Sequence[tuple[int, ...]]) -> str:
    """Return pick after pick: "1, 2, 3, 4; 1, 2", or parted by "then" where some take several."""
    if any(len(move) != 1 for move in moves):
        return ", then ".join(listed(move) if move else "none" for move in moves)
    return "; ".join(map(", ".join, breaths([str(move[0]) for move in moves])))


def shed_told(step: Step) -> str:
    """Return which shafts stand above in a treadled pick, to follow "next"; "" for another step."""
    pick = step.content
    if not isinstance(pick, Pick) or not pick.treadles:
        return ""
    return f"{in_breaths('shaft', pick.lifted)} above the shuttle"


def group_name(_group: StepGroup, steps: Sequence[Step]) -> str:
    """Return which repeats of which part a group holds, "point, repeats 5 to 8"."""
    first, last = steps[0].content, steps[-1].content
    if not (isinstance(first, Pick) and isinstance(last, Pick)):
        return ""
    repeats = span("repeat", first.repeat, last.repeat)
    parts = [first.part, repeats if (first.repeat, last.repeat) != (1, 1) else ""]
    piece = f"piece {first.piece}" if first.piece > 1 else ""
    return ", ".join(part for part in (piece, *parts) if part)


def note_told(note: ClothMark | Unwoven, dressing: Dressing) -> str:
    """Return what is to be measured, or left unwoven, after a pick."""
    if isinstance(note, Unwoven):
        return f"Then leave {length(note.length, dressing)} of warp unwoven."
    wanted = "" if note.wanted is None else length(note.wanted, dressing)
    if note.woven is None:
        return f"This ends the piece: {wanted} are wanted." if wanted else "This ends the piece."
    told = _MARKS[note.what].format(
        woven=f"{length(note.woven, dressing)} of cloth, measured with the tension eased"
    )
    return f"{told}; {wanted} are wanted." if wanted else f"{told}."


_MARKS: Final = {
    "hem": "This ends the hem: {woven}",
    "second-hem": "Now comes the second hem, after {woven}",
    "piece": "This ends the piece: {woven}",
    "measure": "This makes {woven}",
}


def length(inches: Fraction, dressing: Dressing) -> str:
    """Return a length to the nearest quarter inch or half centimetre, in words to be spoken."""
    is_metric = dressing.units == "metric"
    noun, parts = ("centimetre", 2) if is_metric else ("inch", 4)
    size = round((inches * CM_PER_INCH if is_metric else inches) * parts)
    whole, rest = divmod(size, parts)
    part = _QUARTERS[rest * 4 // parts]
    if not part:
        return counted(whole, noun)
    if not whole:
        return f"half {_a(noun)}" if part == "a half" else f"{part} of {_a(noun)}"
    return f"{whole} and {_AFTER_WHOLE.get(part, part)} {noun_for(2, noun)}"


def whole_length(inches: Fraction, dressing: Dressing) -> str:
    """Return a length in whole units that is not too short."""
    if dressing.units == "metric":
        return counted(ceil(inches * CM_PER_INCH), "centimetre")
    return counted(ceil(inches), "inch")


def _a(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def fringe_told(dressing: Dressing) -> Iterator[str]:
    """Yield how much warp to leave before the first pick."""
    plan = weaving(dressing)
    if plan is not None and plan.fringe:
        yield f"Leave {length(plan.fringe, dressing)} of warp unwoven."


def opening(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    """Yield what must be known to begin weaving."""
    plan = weaving(stage.dressing)
    if plan is not None:
        picks = counted(plan.piece_picks, "pick")
        yield f"{plan.pieces} pieces of {picks} each." if plan.pieces > 1 else f"{picks}."
    yield from fringe_told(stage.dressing)
    do = "press what is told" if _noun(stage.steps[0]) == "treadle" else "raise what is told"
    yield f"At each pick {do}, throw, beat, and say done for the next."
    if is_whole:
        yield "To unweave, say back, open the shed that is told, and draw that pick out."
    if is_whole and stage.is_by_foot:
        yield "No foot pedal here, for your feet are on the treadles."
