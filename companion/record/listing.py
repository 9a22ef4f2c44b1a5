"""The sessions of a folder: listing them, and finding one by its name."""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from companion.base import home
from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.base.value import Value
from companion.record import faults, store
from companion.record.entry import EntryKind, change_in
from companion.record.journal import Journal
from companion.record.shelf import AWAY


class Summary(Value):
    """One line of the list of sessions."""

    id: str
    path: Path
    options: Mapping[str, Any]
    """What is walked of its plan."""
    title: str = ""
    plan_path: str = ""
    fingerprint: str = ""
    """Of the plan as it is walked now; "" where it cannot be read."""
    identity: str = ""
    """The same in every copy of the session."""
    stage: str = ""
    """The stage last walked; "" where none was begun."""
    position: int = 0
    """Steps of it confirmed."""
    total: int = 0
    is_finished: bool = False
    """Whether that stage is done."""
    last_used: str = ""
    """UTC, ISO 8601; "" where it cannot be read."""
    is_older: bool = False
    """Whether it is of the first edition."""
    fault: str = ""
    """Why it cannot be used and what to do, one line; "" where it can."""


def default_folder() -> Path:
    """Return where sessions are kept."""
    return home.data() / "journals"


def sessions(folder: Path) -> tuple[Summary, ...]:
    """Return the sessions in the folder, last used first and unusable ones last.

    A damaged session is listed with its fault; it never hides the others. So that many are listed
    quickly, only the beginning and the end of each are read; opening one checks it all.
    """
    with faults.plainly(folder):
        paths = sorted(folder.glob(f"*{store.SUFFIX}")) if folder.is_dir() else []
    return tuple(sorted(map(_summary, paths), key=lambda each: each.last_used, reverse=True))


def read_whole(summary: Summary) -> Summary:
    """Return a listed session, with its fault where only reading all of its entries shows one."""
    try:
        Journal.open(summary.path, read_only=True).close()
    except JournalError as error:
        return replace(summary, fault=summary.fault or str(error))
    return summary


class Worked(NamedTuple):
    """A session that a weaver has walked in."""

    path: Path
    stages: frozenset[str]
    """Those she walked."""
    is_trial: bool
    """Whether it is the trial of a demo plan."""


def worked(folder: Path, weaver: str) -> Iterator[Worked]:
    """Yield the sessions, also those put away, that a weaver has walked in; "" is nobody."""
    folders = [each for each in (folder, folder / AWAY) if each.is_dir()]
    for path in (path for each in folders for path in each.glob(f"*{store.SUFFIX}")):
        with (
            suppress(JournalError),
            faults.plainly(path),
            closing(store.connect_to_read(path)) as connection,
        ):
            if stages := store.stages_signed_by(connection, weaver):
                session, _seal = store.session_of(connection, path)
                is_trial = bool(store.options_of(session, path).get("is_trial"))
                yield Worked(path, stages, is_trial)


def find(folder: Path, name: str | None = None, known: Sequence[Summary] | None = None) -> Path:
    """Return the path of the session called so or beginning so, or of the last used for None.

    `known` are the sessions of the folder, where they have been read.
    Raises JournalError, which lists the choices, where none or several fit.
    """
    known = sessions(folder) if known is None else known
    if name is None:
        if not known:
            raise JournalError(f"No sessions yet in {folder}. Begin one: companion thread PLAN")
        return known[0].path
    fitting = [each for each in known if each.id == name]
    fitting = fitting or [each for each in known if each.id.startswith(name)]
    if len(fitting) == 1:
        return fitting[0].path
    if not fitting and name in {each.stem for each in (folder / AWAY).glob(f"*{store.SUFFIX}")}:
        raise JournalError(f"{name} is put away. Back again: companion sessions --take-out {name}")
    choices = ", ".join(each.id for each in fitting or known)
    away = " put away" if folder.name == AWAY else ""
    mend = f"Say one of: {choices}." if choices else f"There are none{away or ' yet'}."
    fault = "Expected one session, but several begin with" if fitting else "There is no session"
    raise JournalError(f'{fault} "{name}"{"" if fitting else away}. {mend}')


def _summary(path: Path) -> Summary:
    found = Summary(path.stem, path, {})
    try:
        with faults.plainly(path), closing(store.connect_to_read(path)) as connection:
            found = _planned(found, connection)
            store.check(connection, path)
            session, _ = store.session_of(connection, path)
            found = replace(
                found,
                options=store.options_of(session, path),
                identity=session["identity"] or "",
                last_used=session["created"] or "",
            )
            return _walked(_changed(found, connection), connection)
    except JournalError as error:
        return replace(found, last_used="", fault=str(error))


def _planned(found: Summary, connection: sqlite3.Connection) -> Summary:
    """Add the plan, as far as even a damaged file or one of another format tells it."""
    with suppress(sqlite3.Error, TypeError, UnicodeDecodeError):
        row = connection.execute("SELECT title, plan_path, fingerprint FROM session").fetchone()
        title, plan_path, fingerprint = (clean_line(str(value)) for value in row)
        found = replace(found, title=title, plan_path=plan_path, fingerprint=fingerprint)
        return replace(found, is_older=store.format_of(connection) < store.FORMAT)
    return found


def _changed(found: Summary, connection: sqlite3.Connection) -> Summary:
    for entry in store.of_kind(connection, found.path, EntryKind.PLAN):
        now = change_in(entry)
        options = {**found.options, **now.options}
        found = replace(found, options=options, fingerprint=now.fingerprint or found.fingerprint)
    return found


def _walked(found: Summary, connection: sqlite3.Connection) -> Summary:
    last = store.newest(connection, found.path)
    if last is None:
        return found
    latest = store.newest(connection, found.path, walked=last.stage)
    return replace(
        found,
        stage=last.stage,
        position=latest.position if latest else 0,
        total=last.total,
        is_finished=latest is not None and latest.is_finished,
        last_used=last.at,
    )
