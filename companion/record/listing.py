"""The sessions of a folder: listing them, and finding one by its name."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_data_path

from companion.base.errors import JournalError
from companion.record import faults, store
from companion.record.entry import StageRecord
from companion.record.journal import Journal


@dataclass(frozen=True, slots=True)
class Summary:
    """One line of the list of sessions."""

    id: str
    path: Path
    title: str = ""
    stage: str = ""
    """The stage last walked; "" where none was begun."""
    position: int = 0
    """Steps of it confirmed."""
    total: int = 0
    is_finished: bool = False
    """Whether that stage is done."""
    last_used: str = ""
    """UTC, ISO 8601."""
    fault: str = ""
    """Why it cannot be read and what to do, one line; "" where it can."""


def default_folder() -> Path:
    """Return where sessions are kept: COMPANION_HOME, or the user's data folder."""
    home = os.environ.get("COMPANION_HOME")
    return (Path(home) if home else user_data_path("companion", appauthor=False)) / "journals"


def sessions(folder: Path) -> tuple[Summary, ...]:
    """Return the sessions in the folder, last used first and unreadable ones last.

    A damaged session is listed with its fault; it never hides the others.
    """
    with faults.plainly(folder):
        paths = sorted(folder.glob(f"*{store.SUFFIX}")) if folder.is_dir() else []
    return tuple(sorted(map(_summary, paths), key=lambda each: each.last_used, reverse=True))


def find(folder: Path, name: str | None = None) -> Path:
    """Return the path of the session called `name` or beginning so; None is the last used.

    Raises:
        JournalError: none or several fit; the message lists the choices.
    """
    known = sessions(folder)
    if name is None:
        if not known:
            raise JournalError(f"There are no sessions yet in {folder}. Begin one with a plan.")
        return known[0].path
    fitting = [each for each in known if each.id == name]
    fitting = fitting or [each for each in known if each.id.startswith(name)]
    if len(fitting) == 1:
        return fitting[0].path
    choices = ", ".join(each.id for each in fitting or known) or "none yet"
    came = "several sessions begin with" if fitting else "there is no session"
    raise JournalError(
        f'Expected the name of one session, but {came} "{name}". Say one of: {choices}.'
    )


def _summary(path: Path) -> Summary:
    try:
        with Journal.open(path, read_only=True) as journal:
            return _read(journal)
    except JournalError as error:
        return Summary(path.stem, path, fault=str(error))


def _read(journal: Journal) -> Summary:
    last = journal.last_entry()
    if last is None:
        return Summary(journal.id, journal.path, journal.title, last_used=journal.created)
    walked = {record.name: record for record in journal.stages()}
    # A stage that was opened and not walked yet has no record.
    record = walked.get(last.stage, StageRecord(last.stage, 0, last.total, is_finished=False))
    return Summary(
        id=journal.id,
        path=journal.path,
        title=journal.title,
        stage=record.name,
        position=record.position,
        total=record.total,
        is_finished=record.is_finished,
        last_used=last.at,
    )
