"""The wording of a hand-over: what the next person at the loom hears or reads first."""

from collections.abc import Iterator, Sequence
from typing import Final

from companion.base.text import capital, counted, numbered, sentence, span
from companion.out.handover.facts import Contribution, HandOver, StageFacts
from companion.out.handover.pace import ENOUGH_STEPS, GAP_SECONDS, Forecast, PastSitting
from companion.wording.checks import exception
from companion.wording.render import render
from companion.wording.voice import Style

_SITTINGS_TOLD: Final = 3
"""The latest ones; `companion log` has all."""
_MINUTE: Final = 60
_FINE_MINUTES: Final = 10
"""Times shorter than this are told to the minute, others to five."""


def hand_over(facts: HandOver) -> Iterator[str]:
    """Yield the lines of a hand-over, most needed first; each is said as it is printed."""
    yield f"{sentence(facts.title)} Session {facts.session}. {_last(facts)}"
    ends, shafts = counted(facts.ends, "end"), counted(facts.shafts, "shaft")
    yield f"The plan: {ends} on {shafts}; {facts.reed}."
    yield from map(_stage, facts.stages)
    yield from (render(message, Style()).text for message in facts.place)
    for stage in facts.stages:
        yield from _open(stage)
    for stage in facts.stages:
        yield from (_part(part, stage) for part in stage.parts)
    yield from _time(facts.sittings)
    yield from _pace(facts)


how_to_go_on = "To take over: companion resume {} --weaver NAME".format


def _last(facts: HandOver) -> str:
    if not facts.last_at:
        return "Nothing is recorded yet."
    by = f" by {facts.last_weaver}" if facts.last_weaver else ""
    return f"Last worked on {facts.last_at}{by}."


def _stage(stage: StageFacts) -> str:
    title = capital(stage.title)
    if stage.is_finished:
        return f"{title}: finished."
    if not stage.confirmed:
        return f"{title}: {counted(stage.steps, 'step')}, none confirmed yet."
    return f"{title}: {stage.confirmed} of {counted(stage.steps, 'step')} confirmed."


def _open(stage: StageFacts) -> Iterator[str]:
    """Yield what the next person must know of counts and errors."""
    title = capital(stage.title)
    if stage.is_in_doubt:
        yield f"{title}: something is in doubt and not settled yet; begin with that."
    for given in stage.overrides:
        yield f"{title}: {exception(given)}"
    if stage.errors_at:
        was = "a mistake was" if len(stage.errors_at) == 1 else "mistakes were"
        yield f"{title}: {was} reported after {numbered('step', stage.errors_at)}."


def _part(part: Contribution, stage: StageFacts) -> str:
    done = [span(stage.item, first, last) for first, last in part.runs]
    done += [counted(part.edges, "floating selvedge")] if part.edges else []
    pace = "" if part.an_hour is None else f", about {part.an_hour} {stage.pace.paced_in}s an hour"
    did = ", ".join(done) or "none of the steps that stand now"
    who = part.weaver or "Nobody named"
    return f"{capital(stage.title)}, {who}: {did}; {duration(part.seconds)} at work{pace}."


def _time(sittings: Sequence[tuple[str, PastSitting]]) -> Iterator[str]:
    if not sittings:
        return
    total = duration(sum(sitting.seconds for _, sitting in sittings))
    minutes = counted(round(GAP_SECONDS / _MINUTE), "minute")
    yield (
        f"{counted(len(sittings), 'sitting')}, {total} at work; rests, and gaps "
        f"of more than {minutes}, are left out."
    )
    for at, sitting in sittings[-_SITTINGS_TOLD:]:
        who = "".join(f", {weaver}" for weaver in sitting.weavers if weaver)
        yield f"Sitting of {at}{who}: {duration(sitting.seconds)} at work."


def _pace(facts: HandOver) -> Iterator[str]:
    stage = facts.at_hand
    if stage.is_finished:
        yield "All that this session was begun for is finished."
        return
    pace = stage.pace
    if pace.an_hour is None or pace.left is None:
        if stage.confirmed >= ENOUGH_STEPS:
            yield (
                "Some steps were confirmed at once or quicker than hands work, so no pace and no "
                "time left are told."
            )
            return
        yield (
            f"Pace and time left can be told after {ENOUGH_STEPS} steps of a stage; "
            f"{stage.title} has {stage.confirmed}."
        )
        return
    yield (
        f"Pace of {stage.title} so far, slips and mends included: about {pace.an_hour} "
        f"{pace.paced_in}s an hour."
    )
    later = [each.title for each in facts.stages if not each.is_finished and each is not stage]
    but = f" Not in it: {', '.join(later)}." if later else ""
    yield f"Time left in {stage.title} at that pace: {time_left(pace.left)} at work.{but}"


def duration(seconds: float) -> str:
    """Return a time in hours and minutes, to the nearest minute."""
    return _hours(round(seconds / _MINUTE))


def time_left(left: Forecast) -> str:
    """Return a range of time, rounded outwards so that it promises no more than it knows."""
    low, high = int(left.least // _MINUTE), int(-(-left.most // _MINUTE))
    if high > _FINE_MINUTES:
        low, high = low // 5 * 5, -(-high // 5) * 5
    return _hours(high) if low == high else f"between {_hours(low)} and {_hours(high)}"


def _hours(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return "under a minute" if not rest else counted(rest, "minute")
    return counted(hours, "hour") + (f" {counted(rest, 'minute')}" if rest else "")
