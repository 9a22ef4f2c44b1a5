"""The milestones and reminders that go with steps."""

from collections.abc import Iterator
from typing import Final

from companion.base.text import counted
from companion.job import Stage, Step
from companion.job.contents import BeamTask, ClothFault, ClothMark, Note, RulerMark, Unwoven
from companion.loom.dressing import Dressing, RaddlePlan, Region
from companion.loom.first_picks import alike_pairs
from companion.loom.winding import AlikeRounds
from companion.wording.ways import next_region, warp_left
from companion.wording.weaving import length, note_told


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
            yield _reminder(note, dressing)
    if has_floating(dressing) and isinstance(step.content, AlikeRounds) and step is stage.steps[-1]:
        edges = counted(2 * dressing.sley.floating, "floating selvedge end")
        yield f"Then wind the {edges} apart."
    if step.content is BeamTask.WIND_ALL:
        left = warp_left(dressing)
        yield f"Untie a choke only when it comes near. Go on until {left} are left."
    if step.content is ClothFault.ALIKE and (pairs := alike_pairs(dressing)):
        are = "1 pair is" if pairs == 1 else f"{pairs} pairs are"
        yield f"In this threading {are} meant to be so."
    if stage.name == "heddles":
        row = dressing.heddles[step.number - 1]
        if row.spare and row.needed:
            yield f"{row.spare} spare."


def _reminder(note: Note, dressing: Dressing) -> str:
    sections = () if dressing.raddle is None else dressing.raddle.counts
    if note is Note.ALL_SECTIONS:
        return _all_sections(f"This makes all {counted(len(sections), 'section')}", dressing.raddle)
    edges = " Tie on, or weight, the floating selvedge at each edge by itself."
    return _REMINDERS[note].format(
        dents=len(dressing.sley.counts),
        empty=dressing.sley.empty_after,
        sections=len(sections),
        edges=edges if dressing.sley.floating else "",
    )


def has_floating(dressing: Dressing) -> bool:
    """Return whether floating selvedges belong to this warp, which is the first of two."""
    return bool(dressing.sley.floating) and dressing.beam_number <= 1


def _mark(mark: RulerMark, dressing: Dressing) -> str:
    held = f"{counted(mark.ends, 'end')} in {counted(mark.dents, 'dent')}"
    return f"This makes {held}, over {length(mark.length, dressing)} of reed."


def _all_sections(used: str, plan: RaddlePlan | None) -> str:
    if plan is None or plan.empty_before is None or plan.empty_after is None:
        return f"{used}."
    before, after = plan.empty_before, plan.empty_after
    if before == after:
        return f"{used}: {before} stay empty on each side." if before else f"{used}: none is empty."
    return f"{used}: {before} stay empty before the first one, and {after} after this one."


_REMINDERS: Final = {
    Note.PACKING_BEGINS: "Lay the packing in from here on.",
    Note.PACKING: "Packing.",
    Note.CHOKE_TIES: "Packing. Look out for choke ties, and untie only the nearest.",
    Note.COMPARE_BOUTS: "Pat across the bouts: they should feel alike.",
    Note.FEEL_ROD: "Feel that the knots lie in one line.",
    Note.FEEL_CLOTH: "Then feel along the cloth from edge to edge.",
    Note.FINISH_BOUTS: (
        "This is the last one. Go over them all in the same order, tighten each, pat across until "
        "they feel alike, and finish with bows.{edges}"
    ),
    Note.FINISH_ROD: (
        "This is the last one. Feel along the rod once more, and draw every knot firm.{edges}"
    ),
    Note.CENTRE_DENT: "This is half of the {dents} dents: the centre of the warp.",
    Note.LAST_DENT: "This is the last of {dents} dents: {empty} stay empty after it.",
    Note.CENTRE_IN_SECTION: (
        "This is the middle one of {sections} sections: the centre of the warp lies in it."
    ),
    Note.CENTRE_AFTER_SECTION: (
        "This makes half of the {sections} sections: the centre of the warp comes right after it."
    ),
}
