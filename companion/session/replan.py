"""A session whose plan becomes another: what that comes to, and going on by the new one."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Final, Literal, NamedTuple

from companion.base.errors import CompanionError
from companion.command import Command, Kind
from companion.guide import events as e
from companion.guide.messages import Mode
from companion.guide.replan import as_done, kept, mended_in_place
from companion.guide.state import State
from companion.guide.terms import MENDED, OTHER_REED, SHORTER, Way
from companion.job import PASSES, Stage, StageName, is_past, ordered, stage, stages, whole_job
from companion.job.plan_diff import is_other_reed, is_same_work, steps_alike
from companion.loom.compute import compute
from companion.loom.dressing import Dressing
from companion.loom.sley import begun_in
from companion.plan.file.reader import Plan, plan_text, read_plan
from companion.plan.turned import turn_of, turned, turned_more
from companion.record import Entry, EntryKind, Journal
from companion.session.session_lookup import (
    Wanted,
    begun,
    dressing_of,
    of_plan,
    plan_of,
    still_to_walk,
    walkable,
)
from companion.session.session_lookup import stages_of as names_of
from companion.session.walk import entry_at, saved_state
from companion.wording import notices

_IN_HEDDLES: Final = frozenset({"thread", "thread-and-sley"})
_IN_REED: Final = frozenset({"sley", "thread-and-sley"})


class Shift(NamedTuple):
    """A stage that was begun, by the old plan and by the new one."""

    old: Stage
    new: Stage
    was: State
    state: State
    """By the new plan."""
    is_past: bool
    alike: int
    """Steps that both plans have alike."""

    @property
    def is_undoing(self) -> bool:
        """Whether something that is done must be done anew."""
        return not self.is_past and self.was.sure > self.alike


class Replan(NamedTuple):
    """A session whose plan file may hold another plan by now."""

    journal: Journal
    wanted: Wanted

    def stages(self) -> list[Stage]:
        """Return the stages to walk now."""
        dressing, every = dressing_of(self.journal), names_of(self.journal)
        named = every if self.wanted.is_whole else self.wanted.names
        names = tuple(name for name in named if name in walkable(dressing))
        wanted = self.wanted._replace(names=names or every)
        return [stage(dressing, name) for name in still_to_walk(self.journal, dressing, wanted)]

    def look(self) -> Change | str | None:
        """Return what another plan comes to, why there is none to be had, or None for the same."""
        path = Path(self.journal.plan_path)
        if not path.exists():
            return notices.plan_gone(path.name)
        try:
            has_draft = self.journal.draft_text is not None
            if not has_draft and plan_text(path) == self.journal.plan_text:
                return None  # not read whole: the first line waits for this
            plan = read_plan(path)
            is_same = plan.fingerprint == self.journal.fingerprint
            return None if is_same else change_to(self, plan)
        except CompanionError:
            return notices.plan_unread(path.name)

    def from_other_edge(self) -> Change | None:
        """Return the best way to go on from the other edge in which nothing is undone, if any.

        Where the order can be turned the cloth is as planned. Mirrored it can only be where no
        end lies in a heddle yet or all do so from that edge, and the colours are alike from both.
        """
        plan = plan_of(self.journal)
        for way in (Way.ORDER, Way.EDGE):
            with suppress(CompanionError):
                change = change_to(self, plan, way)
                if not change.is_undoing and _is_fit(change, plan, way):
                    return change
        return None


class Change(NamedTuple):
    """Another plan, and what becomes of the session by it."""

    replan: Replan
    shifts: tuple[Shift, ...]
    at_hand: Shift | None
    event: e.PlanChanged
    chosen: e.Events = ()
    """The mend by which what is threaded follows, where one is walked."""

    @property
    def is_undoing(self) -> bool:
        """Whether something that is done must be done anew, so that the weaver is asked."""
        return bool(self.event.last)

    @property
    def question(self) -> Command:
        """What is asked then."""
        ends = self.event.mended
        why = MENDED if ends else self.event.why
        told = ends or ((self.event.threaded,) if self.event.threaded else ())
        return Command(Kind.NEW_PLAN, self.event.first, text=why, numbers=told)

    @property
    def is_declined(self) -> bool:
        """Whether the weaver has once gone on without this other plan."""
        return self.replan.journal.options.get("declined") == self.event.after.fingerprint

    def mended(self) -> Change | None:
        """Return it with what is threaded mended where it is, if that is less work."""
        shift = self.at_hand
        if shift is None or shift.new.name not in _IN_HEDDLES:
            return None
        if any(each.is_undoing for each in self.shifts if each is not shift):
            return None
        mended = mended_in_place(shift.was, shift.old, shift.new)
        if mended is None:
            return None
        now = shift._replace(state=mended.state, alike=shift.was.sure)
        return self._replace(
            shifts=tuple(now if each is shift else each for each in self.shifts),
            at_hand=now,
            event=replace(self.event, last=0, mended=mended.ends),
            chosen=mended.events,
        )

    def decline(self) -> None:
        """Remember, or raise JournalError, that the session goes on by its own plan."""
        journal, after = self.replan.journal, self.event.after
        last = journal.last_entry()
        if last is not None and not self.is_declined:
            declined = e.PlanDeclined(e.Declined(after.fingerprint))
            journal.append(of_plan(last, after.stages[0], declined))

    def take(self) -> None:
        """Have the session walk the new plan; all is written at once, or JournalError raised."""
        entries = [_entry(each) for each in self.shifts if each is not self.at_hand]
        self.replan.journal.append(*entries, _entry_at_hand(self))


def _entry(shift: Shift, *events: e.Event) -> Entry:
    return entry_at(EntryKind.PLAN, shift.new, shift.state, events)


def _entry_at_hand(change: Change) -> Entry:
    """Return the entry that tells of the change, in the stage at hand."""
    event, shift = change.event, change.at_hand
    if shift is None:
        name = (*begun(change.replan.journal), *event.after.stages)[0]
        return of_plan(None, name, event)
    if not shift.is_undoing:
        return _entry(shift, event, *change.chosen)
    reopened = shift.state.checked + 1 if shift.state.checked < shift.was.checked else 0
    back = e.TakenBack(shift.state.confirmed + 1, shift.was.confirmed, reopened)
    return _entry(shift, event, back)


def _is_fit(change: Change, plan: Plan, way: Way) -> bool:
    shift = change.at_hand
    if shift is None or way is Way.ORDER:
        return shift is not None and not plan.file.reed.parts
    whole = shift.old.dressing.whole or shift.old.dressing
    colours = [end.colour for end in whole.ends]
    return shift.new.name != "sley" and colours == colours[::-1]


def change_to(replan: Replan, plan: Plan, way: Way | None = None) -> Change:
    """Return what becomes of a session by another plan, or by the same from the other edge.

    Raises CompanionError where the plan cannot be used.
    """
    journal = replan.journal
    turn = turn_of(journal.options.get("turn"))
    now = turned_more(turn, is_order=way is Way.ORDER) if way else turn
    old, planned = dressing_of(journal), compute(turned(plan, now))
    if way is not None:  # the edge is where the weaver has begun
        old = replace(old, first_end=planned.first_end)
    new = _from_same_dent(old, planned) if _IN_REED.intersection(begun(journal)) else planned
    before = e.Walked(
        names_of(journal),
        turn,
        old.sley.first_dent,
        journal.fingerprint,
        journal.plan_text,
        journal.draft_text,
    )
    after = e.Walked(
        _names(journal, old, new),
        now,
        new.sley.first_dent if new is not planned else 0,
        plan.fingerprint,
        plan.text,
        plan.draft_text,
    )
    shifts = tuple(_shifts(journal, old, new, after.stages))
    at_hand = _shift_at_hand(shifts)
    event = e.PlanChanged(
        before,
        after,
        way=way,
        edge=new.first_end,
        ends=(len(old.ends), len(new.ends)) if len(old.ends) != len(new.ends) else (0, 0),
        off_centre=abs(new.sley.first_dent - planned.sley.first_dent),
        later=_later(journal, old, new, after.stages),
        stands=tuple(
            each.new.name
            for each in shifts
            if each.is_past and not is_same_work(each.old, each.new)
        ),
        left_out=tuple(name for name in before.stages if name not in after.stages),
        added=tuple(name for name in after.stages if name not in before.stages),
    )
    return Change(replan, shifts, at_hand, _with_shift(event, at_hand) if at_hand else event)


def _shift_at_hand(shifts: Sequence[Shift]) -> Shift | None:
    """Return the first stage with something to undo, else the one under way, else the last."""
    current = [each for each in shifts if not each.is_past]
    undone = [each for each in shifts if each.is_undoing]
    under_way = [each for each in current if each.was.base is not Mode.FINISHED]
    return next(iter((*undone, *under_way, *reversed(current))), None)


def _with_shift(event: e.PlanChanged, shift: Shift) -> e.PlanChanged:
    """Return the event with what it comes to in the stage at hand."""
    old, new, alike = shift.old, shift.new, shift.alike
    event = replace(event, where=new.name, item=new.item)
    if alike == len(old.steps) == len(new.steps):
        return replace(event, is_regrouped=not is_same_work(old, new))
    is_shorter = alike == len(new.steps)
    hang = shift.state.threaded if shift.is_undoing else 0
    return replace(
        event,
        first=_number(old if is_shorter else new, alike, 1),
        last=_number(old, shift.was.sure - 1, -1) if shift.is_undoing else 0,
        why=OTHER_REED if is_other_reed(old, new) else SHORTER if is_shorter else "",
        threaded=_number(old, hang - 1, -1) if hang else 0,
    )


def _number(walked: Stage, place: int, way: Literal[1, -1]) -> int:
    """Return the number of a step, or of the next that way that has one, as edges have none."""
    numbers = map(walked.number_of, walked.steps[place::way])
    return next(filter(None, numbers), walked.last_number)


def _from_same_dent(old: Dressing, new: Dressing) -> Dressing:
    """Return what is dressed, in the reed from the dent on in which the work was begun."""
    is_same = old.dents_per_inch == new.dents_per_inch
    if not is_same or old.sley.first_dent == new.sley.first_dent:
        return new
    sley = begun_in(new.sley, old.sley.first_dent)
    return replace(new, sley=sley) if sley else new


def _names(journal: Journal, old: Dressing, new: Dressing) -> tuple[StageName, ...]:
    """Return the stages walked by the new plan: the old ones, what it has more, and not less."""
    was = names_of(journal)
    is_begun = not PASSES.isdisjoint(begun(journal))
    passes = PASSES.intersection(was) if is_begun or PASSES.isdisjoint(was) else stages(new)
    others = {*was}.difference(PASSES)
    more = {*whole_job(new)}.difference(whole_job(old), PASSES) if others else set()
    names = ordered(new, {*passes, *others.intersection(whole_job(new)), *more})
    if not names:
        raise CompanionError("Expected one of the stages walked, and the plan has none of them.")
    return names


def _shifts(
    journal: Journal, old: Dressing, new: Dressing, names: tuple[StageName, ...]
) -> list[Shift]:
    found = []
    for name in begun(journal):
        if name not in names or name not in walkable(old):
            continue
        before, after = stage(old, name), stage(new, name)
        was = saved_state(journal, before)
        if was is not None:
            is_done = was.base is Mode.FINISHED and is_past(new, name, begun(journal))
            state = (as_done if is_done else kept)(was, before, after)
            found.append(Shift(before, after, was, state, is_done, steps_alike(before, after)))
    return found


def _later(
    journal: Journal, old: Dressing, new: Dressing, names: tuple[StageName, ...]
) -> tuple[StageName, ...]:
    """Return the stages to come that both plans have, each otherwise."""
    both = walkable(old).intersection(names).difference(begun(journal))
    return tuple(
        name
        for name in names
        if name in both and not is_same_work(stage(old, name), stage(new, name))
    )
