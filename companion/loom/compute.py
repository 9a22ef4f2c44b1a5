"""From a plan to a dressed loom in numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.base.errors import PlanError
from companion.base.uncollected import uncollected
from companion.loom.beams import beam, beam_of_place, warps
from companion.loom.check import contradictions
from companion.loom.dressing import Dressing, End, Group, Sley
from companion.loom.groups import groups
from companion.loom.heddles import heddle_moves, heddles, once_moved
from companion.loom.notes import notes
from companion.loom.raddle import raddle
from companion.loom.sections import sections
from companion.loom.sley import sley
from companion.loom.spread import space_of_each
from companion.loom.tie_up import tie_up
from companion.loom.yarns import yarns
from companion.plan.draft.lifts import as_lifts
from companion.plan.file.reader import Plan, UnfitPlanError, parse_plan, read_plan

if TYPE_CHECKING:
    from pathlib import Path


def read_and_compute(path: Path) -> tuple[Plan, Dressing]:
    """Return a plan from its file and all computed from it; PlanError with every problem."""
    return _computed(lambda: read_plan(path))


def compute_text(text: str, name: str, draft_text: str | None = None) -> tuple[Plan, Dressing]:
    """Return the plan in a text and all computed from it, as `parse_plan`; else PlanError."""
    return _computed(lambda: parse_plan(text, name, draft_text))


def _computed(read: Callable[[], Plan]) -> tuple[Plan, Dressing]:
    try:
        plan = read()
    except UnfitPlanError as error:
        problems = (*error.problems, *contradictions(error.plan, error.unsure))
        in_order = sorted(problems, key=lambda problem: problem.line)
        raise PlanError(error.source, tuple(in_order)) from None
    return plan, compute(plan)


@uncollected()
def compute(plan: Plan) -> Dressing:
    """Return everything computed from a plan; PlanError with every contradiction in it."""
    problems = contradictions(plan)
    if problems:
        raise PlanError(str(plan.path), problems)
    file, in_reed, hung = plan.file, sley(plan), heddles(plan)
    moves = heddle_moves(hung)
    rows = once_moved(hung, moves)
    gathered = groups(plan, in_reed)
    ends = _ends(plan, in_reed, gathered)
    lengths = yarns(plan, in_reed, ends)
    kind, weft = file.loom.kind, file.weft
    if kind == "table" or kind == "dobby":  # noqa: PLR1714 - mypy narrows by it
        plan, ties = replace(plan, draft=as_lifts(plan.draft)), None
    else:
        ties = tie_up(plan.draft, kind) if plan.draft.treadles else None
    whole = Dressing(
        title=file.title,
        ends=ends,
        groups=gathered,
        sley=in_reed,
        heddles=rows,
        raddle=raddle(plan),
        draft=plan.draft,
        sett=file.warp.sett,
        dents_per_inch=file.reed.gauge,
        units=file.units,
        first_end=file.loom.first_end,
        method=file.loom.method,
        passes=file.loom.passes,
        shaft_one=file.loom.shaft_one,
        loom_kind=kind,
        notes=notes(plan, rows, ties),
        tie_up=ties,
        wound_together=file.warp.wound_together,
        beam=beam(plan, lengths),
        yarns=lengths,
        sections=sections(plan, lengths),
        moves=moves,
        is_knotted=file.old_warp is not None,
        thread_from=file.loom.thread_from,
        thread_first=file.loom.thread_first or "",
        picks_per_inch=weft.gauge if weft else None,
        measure_every=file.inches(weft.measure_every) if weft and weft.measure_every else None,
        second_tension=file.second_beam.tension if file.second_beam else "alike",
    )
    both = warps(plan, whole)
    # of two warps, raddle and beam are the first one's
    return replace(whole, warps=both, raddle=both[0].raddle, beam=both[0].beam) if both else whole


def _ends(plan: Plan, in_reed: Sley, gathered: Iterable[Group]) -> tuple[End, ...]:
    """Return every end; doubled ends share a place but are sleyed one after the other."""
    shafts, colours = plan.draft.shafts, plan.draft.colours
    beams = beam_of_place(plan)
    spots = zip(
        space_of_each(plan.ends_by_place),
        space_of_each(in_reed.body, first=in_reed.floating + 1),
        space_of_each(group.ends for group in gathered),
        strict=True,
    )
    return tuple(
        End(number, shafts[place - 1], place, dent, colours[place - 1], group, beams[place - 1])
        for number, (place, dent, group) in enumerate(spots, start=1)
    )
