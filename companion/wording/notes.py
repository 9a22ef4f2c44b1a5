"""The milestones and reminders that go with steps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.base.text import counted
from companion.job.contents import BeamTask, ClothFault, ClothMark, Note, RulerMark, Unwoven
from companion.loom.dressing import Region
from companion.loom.first_picks import alike_pairs
from companion.loom.winding import Run
from companion.wording.regions import next_region
from companion.wording.weaving import note_told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from fractions import Fraction

    from companion.job import Stage, Step
    from companion.loom.dressing import Dressing


def step_note(step: Step, stage: Stage) -> str:
    """Return the sentences that go with a step, after what it says itself; "" for none."""
    return " ".join(_notes(step, stage))


def _notes(step: Step, stage: Stage) -> Iterator[str]:
    dressing = stage.dressing
    for note in step.notes:
        if isinstance(note, RulerMark):
            yield _mark(note, dressing)
        elif isinstance(note, (ClothMark, Unwoven)):
            yield note_told(note, dressing)
        elif isinstance(note, Region):
            yield next_region(note)
        else:
            yield _REMINDERS[note] if note in _REMINDERS else _MILESTONES[note](dressing)
    if has_floating(dressing) and isinstance(step.content, Run) and step is stage.steps[-1]:
        edges = counted(2 * dressing.sley.floating, "floating selvedge end")
        yield f"Then wind the {edges} apart."
    if step.content is BeamTask.WIND_ALL:
        left = warp_left(dressing)
        yield f"Untie a choke only when it comes near. Go on until {left} are left."
    if step.content is ClothFault.ALIKE:
        yield from _meant(alike_pairs(dressing))
    if stage.name == "heddles":
        row = dressing.heddles[step.number - 1]
        if row.spare and row.needed:
            yield f"{row.spare} to spare."


def has_floating(dressing: Dressing) -> bool:
    """Return whether floating selvedges belong to this warp, which is the first of two."""
    return bool(dressing.sley.floating) and dressing.beam_number <= 1


def warp_left(dressing: Dressing) -> str:
    """Return what stays off the beam to work with."""
    length = "30 centimetres" if dressing.units == "metric" else "12 inches"
    is_front = dressing.method == "front-to-back"
    return f"about {length} in front of the {'reed' if is_front else 'castle'}"


def _mark(mark: RulerMark, dressing: Dressing) -> str:
    held = f"{counted(mark.ends, 'end')} in {counted(mark.dents, 'dent')}"
    return f"This makes {held}, over {_length(mark.length, dressing)} of reed."


def _length(length: Fraction, dressing: Dressing) -> str:
    """Return how far from dent 1 a mark is, in words that can be spoken."""
    if dressing.units == "inch":
        return counted(int(length), "inch")
    whole, rest = divmod(length, 1)
    return f"{whole}{' and a half' if rest else ''} centimetres"


def _meant(pairs: int) -> Iterator[str]:
    if pairs:
        are = "1 pair is" if pairs == 1 else f"{pairs} pairs are"
        yield f"In this threading {are} meant to be so."


def _centre_dent(dressing: Dressing) -> str:
    return f"It is half of the {len(dressing.sley.counts)} dents: the centre of the warp."


def _last_dent(dressing: Dressing) -> str:
    sley = dressing.sley
    return f"It is the last of {len(sley.counts)} dents: {sley.empty_after} stay empty after it."


def _sections(dressing: Dressing) -> int:
    return len(dressing.raddle.counts) if dressing.raddle is not None else 0


def _centre_in_section(dressing: Dressing) -> str:
    used = _sections(dressing)
    return f"This is the middle one of {used} sections: the centre of the warp lies in it."


def _centre_after_section(dressing: Dressing) -> str:
    used = _sections(dressing)
    return f"This makes half of the {used} sections: the centre of the warp comes right after it."


def _all_sections(dressing: Dressing) -> str:
    used, plan = f"This makes all {counted(_sections(dressing), 'section')}", dressing.raddle
    if plan is None or plan.empty_before is None or plan.empty_after is None:
        return f"{used}."
    before, after = plan.empty_before, plan.empty_after
    if before == after:
        return f"{used}: {before} stay empty on each side." if before else f"{used}: none is empty."
    return f"{used}: {before} stay empty before the first one, and {after} after this one."


def _finish_bouts(dressing: Dressing) -> str:
    return (
        "This is the last one. Go over them all in the same order, tighten each, pat across until "
        f"they feel alike, and finish with bows.{_edges(dressing)}"
    )


def _finish_rod(dressing: Dressing) -> str:
    last = "This is the last one. Feel along the rod once more, and draw every knot firm."
    return f"{last}{_edges(dressing)}"


def _edges(dressing: Dressing) -> str:
    floating = " Tie on, or weight, the floating selvedge at each edge by itself."
    return floating if dressing.sley.floating else ""


_REMINDERS: Final = {
    Note.PACKING_BEGINS: "Lay the packing in from here on.",
    Note.PACKING: "Packing.",
    Note.CHOKE_TIES: "Packing. Look out for choke ties, and untie only the nearest.",
    Note.COMPARE_BOUTS: "Pat across the bouts: they should feel alike.",
    Note.FEEL_ROD: "Feel that the knots lie in one line.",
    Note.FEEL_CLOTH: "Then feel along the cloth from edge to edge.",
}
_MILESTONES: Final[dict[Note, Callable[[Dressing], str]]] = {
    Note.FINISH_BOUTS: _finish_bouts,
    Note.FINISH_ROD: _finish_rod,
    Note.CENTRE_DENT: _centre_dent,
    Note.LAST_DENT: _last_dent,
    Note.CENTRE_IN_SECTION: _centre_in_section,
    Note.CENTRE_AFTER_SECTION: _centre_after_section,
    Note.ALL_SECTIONS: _all_sections,
}
