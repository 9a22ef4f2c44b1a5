"""What a report comes to: the few likeliest explanations, and what to look at besides."""

from dataclasses import replace

from companion.diagnosis.align import SLACK
from companion.diagnosis.counts import count_diagnoses, is_as_planned
from companion.diagnosis.felt import felt_diagnoses
from companion.diagnosis.planned import Planned
from companion.diagnosis.slips import Advice, Diagnosis, Findings, Observed

MOST_TOLD = 4
"""Explanations told at most: more cannot be kept in mind by ear. Our own choice."""


def diagnose(planned: Planned, report: Observed, most: int = MOST_TOLD) -> Findings:
    """Return the likeliest explanations, at most so many, of what the weaver counted and felt.

    Each check sees something else: the total sees ends missed, doubled and added; the spare
    heddles see wrong shafts and skipped heddles too; only the felt shafts see ends in the wrong
    order, and where anything is.
    """
    if report.felt is not None:
        return _felt(planned, report, most)
    if is_as_planned(planned, report):
        return Findings((), (Advice.ORDER_UNSEEN,))
    return _told(count_diagnoses(planned, report), most)


def _felt(planned: Planned, report: Observed, most: int) -> Findings:
    felt = report.felt or ()
    is_counted = report.total is not None and report.is_felt_whole
    advice = (Advice.CONTRADICTION,) if is_counted and report.total != len(felt) else ()
    found = felt_diagnoses(planned, report)
    if not found and report.spare is not None:
        advice = (Advice.CONTRADICTION,)
        found = felt_diagnoses(planned, replace(report, spare=None))
    return _told(found, most, advice)


def _told(found: list[Diagnosis], most: int, advice: tuple[Advice, ...] = ()) -> Findings:
    if not found:
        return Findings((), (*advice, Advice.READ_BACK))
    ordered = sorted(dict.fromkeys(found), key=lambda diagnosis: diagnosis.cost)
    worst = ordered[0].cost + SLACK
    told = tuple(each for each in ordered if each.slips and each.cost <= worst)
    return Findings(() if not ordered[0].slips else told[:most], advice)
