"""A hand-over drawn up from a session's record."""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING, Final

from companion.base.errors import CommandError
from companion.base.text import ruler
from companion.command import LANGUAGES, Kind, parse
from companion.guide import State
from companion.job import stage
from companion.loom.compute import compute
from companion.out.handover.facts import HandOver, at_hand, place, stage_facts
from companion.out.handover.pace import Moment, sittings
from companion.out.report import CM_PER_INCH
from companion.plan.file.reader import parse_plan
from companion.record import EntryKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.loom.dressing import Dressing
    from companion.record import Entry, Journal

NEXT_STAGE: Final = "finished"
"""With these words a sitting's stage ends and the one after begins: nobody got up."""


def hand_over_of(journal: Journal) -> HandOver:
    """Return what there is to hand over of a session; it may be walked meanwhile.

    Raises:
        PlanError: this version of the companion cannot read its plan.
        JournalError: the record is damaged, or is not of this plan.
    """
    dressing = compute(parse_plan(journal.plan_text, journal.plan_path, journal.draft_text))
    entries = tuple(journal.entries())
    moments = tuple(moments_of(entries))
    walked = [stage(dressing, name) for name in journal.options["stages"]]
    saved = [journal.last_state(each.name) for each in walked]
    states = [State.from_json(text) if text else None for text in saved]
    facts = tuple(
        stage_facts(each, state, moments, _errors(entries, each.name))
        for each, state in zip(walked, states, strict=True)
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


def moments_of(entries: Iterable[Entry]) -> Iterator[Moment]:
    """Yield the record's entries as moments."""
    goes_on = is_paused = False
    for entry in entries:
        if entry.state is not None:
            is_paused = _is_paused(entry.state)
        elif entry.kind is EntryKind.OPEN:
            is_paused = False
        yield Moment(
            _seconds(entry),
            entry.stage,
            entry.position,
            entry.weaver,
            is_opening=entry.kind is EntryKind.OPEN and not goes_on,
            is_paused=is_paused,
        )
        goes_on = entry.kind is EntryKind.CLOSE and entry.words == NEXT_STAGE


def _seconds(entry: Entry) -> float:
    return datetime.fromisoformat(entry.at).timestamp()


def _told(seconds: float) -> str:
    """Return a time for print, UTC."""
    return f"{datetime.fromtimestamp(seconds, UTC):%Y-%m-%d %H:%M}"


def _is_paused(state: str) -> bool:
    """Return whether the walk rests in this state; what cannot be read does not."""
    with suppress(ValueError, KeyError, TypeError):
        return bool(json.loads(state)["state"]["is_paused"])
    return False


def _errors(entries: Iterable[Entry], name: str) -> tuple[int, ...]:
    """Return the positions at which the weaver reported an error in a stage."""
    return tuple(
        entry.position
        for entry in entries
        if entry.stage == name and entry.kind is EntryKind.COMMAND and _reports(entry.words)
    )


@cache
def _reports(words: str) -> bool:
    """Return whether words report an error, in any language of the commands."""
    for language in LANGUAGES:
        with suppress(CommandError):
            return parse(words, language).kind is Kind.MISTAKE
    return False


def _reed(dressing: Dressing) -> str:
    gauge = dressing.dents_per_inch
    if dressing.units == "metric":
        told = f"{ruler(gauge / CM_PER_INCH * 10)} dents per 10 cm"
    else:
        told = f"{ruler(gauge)} dents per inch"
    return f"a reed of {told}, {len(dressing.sley.counts)} dents used"
