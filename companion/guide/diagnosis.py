"""The likely causes of what the weaver reports that differs from the plan, in one stretch."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from companion.diagnosis.diagnose import diagnose
from companion.diagnosis.planned import Planned
from companion.diagnosis.planned import planned_ends as ends_of_plan
from companion.diagnosis.sleying import dent_diagnoses
from companion.diagnosis.slips import Findings, Observed, observed
from companion.guide.state import Reported
from companion.guide.terms import Cause, CauseKind
from companion.guide.touch_check import planned
from companion.job import PASSES, Stage, Step

MOST_TOLD: Final = 3
"""Causes told at once, as many as the ear keeps. Our own choice."""
_PLACE_LOST: Final = {True: CauseKind.CONFIRMED_TWICE, False: CauseKind.NOT_CONFIRMED}
"""How the walk itself and the work get apart, where the count is too low and where too high."""


_MOST_GIVERS: Final = 2


def likely_causes(stage: Stage, steps: tuple[Step, ...], difference: int) -> tuple[Cause, ...]:
    """Return the likely causes of a difference that are not slips at the loom's heddles or reed.

    They are ways of counting, and the walk and the work getting apart; which there are is common
    practice, without a source. Slips at the loom itself are `findings`. The difference is the
    count less the planned count, in ends or dents, not 0.
    """
    lost = Cause(_PLACE_LOST[difference < 0], abs(difference))
    if stage.name not in PASSES:
        kind = CauseKind.OWN_TOO_FEW if difference < 0 else CauseKind.OWN_TOO_MANY
        is_short = stage.name == "heddles" and difference < 0
        givers = _givers(stage, steps, -difference) if is_short else ()
        own = Cause(kind, abs(difference), givers=givers)
        return (own, lost) if len(steps) > 1 else (own,)
    find = _in_dents if stage.counted == "dent" else _in_ends
    return (*find(steps, difference), lost)


def _givers(stage: Stage, steps: tuple[Step, ...], need: int) -> tuple[tuple[int, int], ...]:
    """Return which shaft has the most heddles to spare for another, or which two if both must."""
    shaft = steps[0].number
    rows = (row for row in stage.dressing.heddles if row.shaft != shaft and row.spare)
    richest = sorted(rows, key=lambda row: (-row.spare, row.shaft))[:_MOST_GIVERS]
    givers = tuple((row.shaft, row.spare) for row in richest)
    return givers[:1] if givers and givers[0][1] >= need else givers


def _in_dents(steps: tuple[Step, ...], difference: int) -> Iterator[Cause]:
    ends = sum(len(step.shafts) or 1 for step in steps)
    if difference == ends - len(steps):
        yield Cause(CauseKind.ENDS_FOR_DENTS)
    if difference == sum(step.empty_dents for step in steps):
        yield Cause(CauseKind.EMPTY_COUNTED, difference)
    if difference > 0:
        yield Cause(CauseKind.DENT_SKIPPED, difference)


def _in_ends(steps: tuple[Step, ...], difference: int) -> Iterator[Cause]:
    number = abs(difference)
    if difference == -sum(step.is_doubled for step in steps):
        yield Cause(CauseKind.DOUBLED_AS_ONE, number)
    if difference == sum(step.is_floating for step in steps):
        yield Cause(CauseKind.FLOATING_COUNTED, number)
    if number > 1 and number in {len(step.shafts) for step in steps}:
        kind = CauseKind.STEP_LEFT_OUT if difference < 0 else CauseKind.STEP_TWICE
        yield Cause(kind, 1, size=number)


def findings(
    stage: Stage, steps: tuple[Step, ...], difference: int | None, reported: Reported
) -> Findings:
    """Return what a report on these steps most likely means at the loom, the likeliest first.

    Only in heddles and reed are slips known. The difference is what was counted less what is
    planned; None where nothing was. Reported are heddles over or missing, and what was felt.
    """
    places = planned(stage, steps)
    if not places:
        return Findings(())
    felt = reported.felt or None
    if stage.counted == "dent":
        dents = tuple(place.value for place in places)
        # More dents that hold ends than planned are no skipped dents; `likely_causes` tells them.
        fewer = min(0, difference or 0)
        if felt is None and not fewer:
            return Findings(())
        return dent_diagnoses(dents, fewer, felt, places[0].number)
    total = None if difference is None else len(places) + difference
    spare = dict(reported.spare) or None
    if (total, spare, felt) == (None, None, None):
        return Findings(())
    report = observed(len(places), total, spare, felt)
    found = diagnose(planned_ends(stage, steps), report, MOST_TOLD)
    if felt is None or not report.is_felt_whole:
        return found
    # All there is was named: no more can be felt, and whichever of like places it is hangs alike.
    return replace(found, diagnoses=tuple(each.at_last_places for each in found.diagnoses))


def left_findings(stage: Stage, steps: tuple[Step, ...], answers: Sequence[int | None]) -> Findings:
    """Return what the heddles and dents left over at the end of the stage most likely mean."""
    pairs = [
        (item, answer - item.planned)
        for item, answer in zip(stage.left_over, answers, strict=False)
        if answer is not None and answer != item.planned
    ]
    spare = {item.shaft: more for item, more in pairs if item.what == "heddle"}
    if spare:
        return diagnose(planned_ends(stage, steps), Observed(spare=spare), MOST_TOLD)
    fewer = sum(more for item, more in pairs if item.what == "dent")
    return dent_diagnoses(stage.dressing.sley.counts, -fewer) if fewer else Findings(())


def planned_ends(stage: Stage, steps: tuple[Step, ...]) -> Planned:
    """Return what was to be threaded in these steps, at least one end."""
    places = planned(stage, steps)
    return ends_of_plan(stage.dressing, places[0].number, places[-1].number)
