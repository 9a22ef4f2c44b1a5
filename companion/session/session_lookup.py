"""Which session a plan goes on in: a new one, or the unfinished one the weaver left."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from companion.base.errors import CompanionError, JournalError
from companion.plan.file.reader import parse_plan, read_plan
from companion.record import Journal, sessions

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from companion.plan.file.reader import Plan


def open_for_plan(
    plan: Plan,
    folder: Path,
    stages: Sequence[str],
    *,
    is_new: bool,
    tell: Callable[[str], None],
) -> Journal:
    """Return the journal to walk these stages of a plan in, open for writing.

    The session last used for the plan goes on, unless it was begun for other stages, all of
    `stages` are finished in it, or a new one is asked for. Where a new one begins, `tell` is given
    a line on those that could not be read, since one of them may be this plan's.

    Raises:
        JournalError: the session is walked elsewhere, or the plan has changed since it was begun.
    """
    left = None if is_new else _left_unfinished(plan, folder, stages)
    if left is not None:
        return Journal.open(left)
    unread = [summary.id for summary in sessions(folder) if summary.fault]
    if unread and not is_new:
        tell(f"Beginning anew. Not read: {', '.join(unread)}; `companion sessions` says why.")
    return Journal.create(
        folder,
        title=plan.file.title,
        plan_path=str(plan.path.resolve()),
        plan_text=plan.text,
        draft_text=plan.draft_text,
        fingerprint=plan.fingerprint,
        options={"stages": list(stages)},
    )


def _left_unfinished(plan: Plan, folder: Path, stages: Sequence[str]) -> Path | None:
    """Return the newest session of this plan with something of `stages` still to do."""
    for summary in sessions(folder):
        if summary.fault:
            continue
        with Journal.open(summary.path, read_only=True) as journal:
            finished = {stage.name for stage in journal.stages() if stage.is_finished}
            if finished.issuperset(stages) or not set(journal.options["stages"]) >= set(stages):
                continue
            if journal.fingerprint == plan.fingerprint:
                return summary.path
            if journal.plan_path == str(plan.path.resolve()) and not summary.is_finished:
                raise JournalError(_changed(plan, summary.id))
    return None


def _changed(plan: Plan, session: str) -> str:
    return (
        f"{plan.path} has changed since session {session} was begun with it. To go on with the "
        f"plan as it was, use: companion resume {session}. To begin again with the plan as it is "
        "now, add --new."
    )


def plan_of(journal: Journal) -> Plan:
    """Return the plan a session was begun with, from the session itself.

    Raises:
        PlanError: this version of the companion cannot read it any more.
    """
    return parse_plan(journal.plan_text, journal.plan_path, journal.draft_text)


def change_notice(journal: Journal) -> str | None:
    """Return what to tell the weaver where the plan file is not what it was; None if it is."""
    path = Path(journal.plan_path)
    if not path.exists():
        return f"{path} is not there any more; going on with the plan kept in the session."
    fingerprint = None
    with suppress(CompanionError):
        fingerprint = read_plan(path).fingerprint
    if fingerprint == journal.fingerprint:
        return None
    return f"{path} has changed since; going on with the plan as it was, kept in the session."
