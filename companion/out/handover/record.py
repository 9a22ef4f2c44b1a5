"""A hand-over drawn up from a session's record."""

from dataclasses import astuple
from datetime import UTC, datetime

from companion.base.local_time import local
from companion.guide import State, events
from companion.job import stage
from companion.loom.dressing import Dressing
from companion.out.handover.facts import HandOver, at_hand, place, stage_facts
from companion.out.handover.pace import Moment, sittings
from companion.record import Entry, EntryKind, Journal
from companion.session.session_lookup import dressing_of, stages_of
from companion.yarn.measured import gauge


def hand_over_of(journal: Journal) -> HandOver:
    """Return what there is to hand over of a session; it may be walked meanwhile.

    Raises PlanError where its plan cannot be read by this version, JournalError for a damaged one.
    """
    dressing = dressing_of(journal)
    entries = tuple(journal.entries())
    moments = tuple(map(Moments().of, entries))
    walked = [stage(dressing, name) for name in stages_of(journal)]
    saved = [journal.last_state(each.name) for each in walked]
    states = [State.from_json(text) if text else None for text in saved]
    facts = tuple(
        stage_facts(each, state, moments) for each, state in zip(walked, states, strict=True)
    )
    index = at_hand(facts)
    return HandOver(
        title=journal.title,
        session=journal.id,
        ends=len(dressing.ends),
        shafts=len(dressing.heddles),
        reed=_reed(dressing),
        last_at=_told(_seconds(entries[-1])) if entries else "",
        last_weaver=journal.weaver,
        stages=facts,
        place=place(states[index], walked[index]),
        sittings=tuple((_told(each.first_at), each) for each in sittings(moments)),
    )


class Moments:
    """Turns one entry after another of a record into moments."""

    def __init__(self) -> None:
        self._resting: set[str] = set()

    def of(self, entry: Entry) -> Moment:
        """Return the next entry as a moment."""
        came = {type(event): event for event in events.from_json(entry.events)}
        if events.Paused in came:
            self._resting.add(entry.stage)
        if events.Resumed in came:
            self._resting.discard(entry.stage)
        confirmed = came.get(events.Confirmed)
        return Moment(
            _seconds(entry),
            entry.stage,
            entry.position,
            entry.weaver,
            is_opening=entry.kind is EntryKind.OPEN,
            is_paused=entry.stage in self._resting,
            confirmed=astuple(confirmed) if confirmed else None,
            is_mistake=events.MistakeReported in came,
        )


def _seconds(entry: Entry) -> float:
    return datetime.fromisoformat(entry.at).timestamp()


def _told(seconds: float) -> str:
    return local(datetime.fromtimestamp(seconds, UTC).isoformat())


def _reed(dressing: Dressing) -> str:
    told = gauge(dressing.dents_per_inch, dressing.units)
    return f"a reed of {told}, {len(dressing.sley.counts)} dents used"
