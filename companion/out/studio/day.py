"""A day in the studio: who worked where, how far it came, and what went wrong."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from companion.base.errors import CompanionError
from companion.base.text import capital, counted
from companion.guide import events
from companion.out.handover.pace import Moment, work
from companion.out.handover.record import Moments
from companion.out.handover.words import duration
from companion.record import Entry, Journal, sessions
from companion.record.school import School
from companion.wording import studio as wording
from companion.wording.record import recorded
from companion.wording.stages import TITLES

_TOLD = (events.FoundWrong, events.Overridden, events.MendFinished, events.StageFinished)
"""What of a session belongs into a summary."""


@dataclass
class DaysWork:
    """What was done in one session on one day."""

    session: str
    title: str
    weavers: list[str] = field(default_factory=list)
    steps: int = 0
    """Confirmed that day, counted once for each time."""
    seconds: float = 0.0
    """At work."""
    first: str = ""
    last: str = ""
    """Local times of day."""
    place: str = ""
    happened: list[tuple[str, str]] = field(default_factory=list)
    """Each with its local time."""
    fault: str = ""
    """Why the session could not be read to its end."""
    servers: list[str] = field(default_factory=list)
    """Where it was done; none is here."""

    @property
    def told(self) -> str:
        """The figures in one sentence."""
        return (
            f"{capital(wording.people(self.weavers))}, {self.first} to {self.last}: "
            f"{counted(self.steps, 'step')} confirmed, {duration(self.seconds)} at work. "
            f"{self.place}"
        )


def work_of(folder: Path, day: date) -> Iterator[DaysWork]:
    """Yield what was done on a day in each session of a folder; those without any are left out."""
    for summary in sessions(folder):
        done = DaysWork(summary.id, summary.title)
        if summary.fault:
            done.fault = summary.fault
        elif _day(summary.last_used) >= day:
            with _read(done), Journal.open(summary.path, read_only=True) as journal:
                _take(journal, day, done)
        if done.first or (summary.fault and not summary.is_older):
            yield done


def work_elsewhere(school: School, folder: Path, day: date) -> Iterator[DaysWork]:
    """Yield what the school's record has of a day and no session in the folder tells of."""
    here = {each.identity: each.path for each in sessions(folder) if not each.fault}
    for name, identity, title, number, at in school.newest():
        if not at or _day(at) < day:
            continue
        path = here.get(identity)
        after = school.in_common(name, path) if path else 0
        if after < number:
            done = DaysWork(name, title, servers=school.servers(name, after))
            with _read(done), school.copy(name) as (journal, _):
                _take(journal, day, done, after)
            if done.first or done.fault:
                yield done


@contextmanager
def _read(done: DaysWork) -> Iterator[None]:
    """Keep as its fault why a session cannot be read."""
    try:
        yield
    except CompanionError as error:
        done.fault = str(error)


def _take(journal: Journal, day: date, done: DaysWork, after: int = 0) -> None:
    """Take in what a session tells of a day in the entries above a number."""
    moments: list[Moment] = []
    reader = Moments()
    try:
        for entry in journal.entries():
            moment = reader.of(entry)
            if entry.number > after and _day(entry.at) == day:
                moments.append(moment)
                _add(entry, moment, done)
    finally:
        done.seconds = sum(each.seconds for each in work(moments))


def _add(entry: Entry, moment: Moment, done: DaysWork) -> None:
    time = datetime.fromisoformat(entry.at).astimezone().strftime("%H:%M")
    done.first, done.last = done.first or time, time
    if entry.weaver not in done.weavers:
        done.weavers.append(entry.weaver)
    if moment.confirmed:
        done.steps += moment.confirmed[1] - moment.confirmed[0] + 1
    if entry.state is not None:
        stage = TITLES.get(entry.stage, entry.stage)  # type: ignore[call-overload]
        done.place = f"Now {stage}, step {entry.position} of {entry.total}."
    for event in events.from_json(entry.events):
        if isinstance(event, _TOLD) and (told := recorded(event)):
            done.happened.append((time, told))


def _day(at: str) -> date:
    return datetime.fromisoformat(at).astimezone().date()
