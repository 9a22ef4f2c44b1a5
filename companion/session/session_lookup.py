"""Which session a plan goes on in, and what a session walks."""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple, get_args

from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.base.lines import Tell
from companion.base.text import listed
from companion.guide.events import Event, StagesAdded, Walked, to_json
from companion.job import PASSES, StageName, are_at_odds, counted_as_done, ordered, stage, whole_job
from companion.loom.compute import compute
from companion.loom.dressing import Dressing
from companion.loom.sley import begun_in
from companion.plan.file.reader import Plan, parse_plan
from companion.plan.turned import turn_of, turned
from companion.record import Entry, EntryKind, Journal, Summary, default_folder, find, sessions
from companion.record.store import slug
from companion.session.walk import saved_state
from companion.wording import notices


class Wanted(NamedTuple):
    """The stages that the weaver wants to walk."""

    names: tuple[StageName, ...]
    is_whole: bool = False
    """Whether it is the whole job, so that what must have been done before counts as done."""


def open_for_plan(
    plan: Plan,
    dressing: Dressing,
    folder: Path,
    wanted: Wanted,
    *,
    is_new: bool,
    tell: Tell,
    is_trial: bool = False,
) -> Journal:
    """Return the journal to walk these stages of a plan in, open for writing.

    The session last used for the plan goes on, for more stages than before where that is wanted,
    unless all that is wanted is finished in it, it passes over the warp otherwise, or a new one is
    asked for. Where a new one begins, `tell` is given a line on those that could not be read.
    Raises JournalError where the session is walked elsewhere, or cannot be read and may be it.
    """
    left = None if is_new else _left_unfinished(plan, dressing, folder, wanted, tell)
    if left is not None:
        with ExitStack() as ending:
            journal = ending.enter_context(Journal.open(left))
            _add_stages(journal, wanted)
            ending.pop_all()
            return journal
    return Journal.create(
        folder,
        title=plan.file.title,
        plan_path=str(plan.path.resolve()),
        plan_text=plan.text,
        draft_text=plan.draft_text,
        fingerprint=plan.fingerprint,
        options={"stages": list(wanted.names)} | ({"is_trial": True} if is_trial else {}),
    )


def _left_unfinished(
    plan: Plan, dressing: Dressing, folder: Path, wanted: Wanted, tell: Tell
) -> Path | None:
    """Return the newest session of this plan with something that is wanted still to do."""
    unread: list[Summary] = []
    for summary in sessions(folder):
        if fault_of(summary):
            unread.append(summary)
        elif _is_of(summary, plan):
            try:
                has_left = _has_left(summary, dressing, wanted)
            except JournalError:
                unread.append(summary)
                continue
            if has_left:
                return summary.path
    _tell_unread(unread, plan, tell)
    return None


def _is_of(summary: Summary, plan: Plan) -> bool:
    """Return whether a session was begun with a plan; by its name, where it tells no other."""
    if not summary.fingerprint:
        return summary.id.rpartition("-")[0] == slug(plan.file.title)
    is_path = summary.plan_path == clean_line(str(plan.path.resolve()))
    return is_path or summary.fingerprint == plan.fingerprint


def _has_left(summary: Summary, dressing: Dressing, wanted: Wanted) -> bool:
    with Journal.open(summary.path, read_only=True) as journal:
        is_at_odds = are_at_odds(wanted.names, begun(journal))
        return not is_at_odds and bool(_left(journal, dressing, wanted))


def _left(journal: Journal, dressing: Dressing, wanted: Wanted) -> tuple[StageName, ...]:
    past = {*finished(journal), *taken_as_done(journal, dressing, wanted)}
    return tuple(name for name in wanted.names if name not in past)


def finished(journal: Journal) -> frozenset[str]:
    """Return the stages that a session has finished."""
    return frozenset(each.stage for each in journal.stages() if each.is_finished)


def taken_as_done(journal: Journal, dressing: Dressing, wanted: Wanted) -> tuple[StageName, ...]:
    """Return which of the stages wanted count as done without a record."""
    return counted_as_done(dressing, wanted.names, begun(journal), is_whole=wanted.is_whole)


def begun(journal: Journal) -> tuple[StageName, ...]:
    """Return the stages that a session has begun, in that order."""
    known: dict[str, StageName] = {name: name for name in get_args(StageName)}
    return tuple(known[each.stage] for each in journal.stages() if each.stage in known)


def _add_stages(journal: Journal, wanted: Wanted) -> None:
    before, dressing, last = stages_of(journal), dressing_of(journal), journal.last_entry()
    done = taken_as_done(journal, dressing, wanted)
    more = {*wanted.names}.intersection(walkable(dressing)).difference(done)
    if more.issubset(before):
        return
    after = ordered(dressing, {*before, *more})
    journal.append(of_plan(last, after[0], StagesAdded(Walked(before), Walked(after))))


def of_plan(last: Entry | None, stage: StageName, event: Event) -> Entry:
    """Return the entry of what is walked from here on; the place, or a stage, is as it was."""
    entry = Entry(kind=EntryKind.PLAN, stage=stage, events=to_json((event,)))
    if last is None:
        return entry
    return replace(entry, stage=last.stage, position=last.position, total=last.total)


def still_to_walk(journal: Journal, dressing: Dressing, wanted: Wanted) -> tuple[StageName, ...]:
    """Return which of these stages are to be walked; the last where none is left, to be seen."""
    return _left(journal, dressing, wanted) or wanted.names[-1:]


def _tell_unread(unread: Sequence[Summary], plan: Plan, tell: Tell) -> None:
    """Tell of sessions that could not be read; stop where the walk may have been in one."""
    theirs = [each.id for each in unread if _is_of(each, plan) and not each.is_older]
    if theirs:
        raise JournalError(
            f"{listed(theirs)} may hold a walk of this plan and cannot be read; `companion "
            "sessions` says why and what to do. To begin anew all the same, add --new."
        )
    if unread:
        tell(notices.begun_anew([each.id for each in unread]))


def session_path(name: str | None, tell: Tell) -> Path:
    """Return the session called so or beginning so, or for None the one used last.

    Then `tell` is given a line on those that cannot be read, since one of them may be later.
    Raises JournalError where none or several fit.
    """
    folder = default_folder()
    known = sessions(folder)
    path = find(folder, name, known)
    broken = [each.id for each in known if each.fault and not each.is_older]
    if name is None and broken and path.stem not in broken:
        tell(notices.not_read(broken))
    return path


def plan_of(journal: Journal) -> Plan:
    """Return the plan a session was begun with, from itself; PlanError if it is too new or old."""
    return parse_plan(journal.plan_text, journal.plan_path, journal.draft_text)


def stages_of(session: Journal | Summary) -> tuple[StageName, ...]:
    """Return the stages a session was begun for, in order; JournalError for unknown ones."""
    names = session.options.get("stages")
    known = get_args(StageName)
    if isinstance(names, list) and names and all(name in known for name in names):
        return tuple(names)
    raise JournalError(
        f"{session.id}: it was begun for stages that this companion does not know. Bring the "
        "companion up to date, or begin its plan anew."
    )


def fault_of(summary: Summary) -> str:
    """Return why a listed session cannot be walked, one line; "" where it can."""
    if summary.fault:
        return summary.fault
    try:
        stages_of(summary)
    except JournalError as error:
        return str(error)
    return ""


def walkable(dressing: Dressing) -> frozenset[StageName]:
    """Return the stages that can be walked of what is dressed."""
    woven: tuple[StageName, ...] = ("weave",) if dressing.draft.moves else ()
    return frozenset((*whole_job(dressing), *woven, *PASSES))


def dressing_of(journal: Journal) -> Dressing:
    """Return what a session dresses; CompanionError if its plan or stages cannot be used."""
    dressing = compute(turned(plan_of(journal), turn_of(journal.options.get("turn"))))
    dent = journal.options.get("first_dent")
    sley = begun_in(dressing.sley, dent) if dent and isinstance(dent, int) else None
    dressing = replace(dressing, sley=sley) if sley else dressing
    for name in stages_of(journal):
        if name not in walkable(dressing):
            raise JournalError(f"{journal.id}: its plan has no stage {name}. Begin the plan anew.")
    return dressing


def check(journal: Journal) -> None:
    """Raise CompanionError unless a session can be walked on here, from where it stands."""
    dressing = dressing_of(journal)
    for name in stages_of(journal):
        saved_state(journal, stage(dressing, name))
