"""A session from machine to machine: packed into one file, and brought back without a wrong merge.

A session only ever grows by entries at its end. So of two copies of one session either one
continues the other, or both went on separately; entries are compared one by one, never mixed.
"""

from collections.abc import Callable
from contextlib import ExitStack, closing, suppress
from enum import StrEnum
from itertools import zip_longest
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, NamedTuple

from companion.base.errors import CompanionError, JournalError, PlanError
from companion.base.value import Value
from companion.record import carried, faults, lock, store
from companion.record.carried import Manifest
from companion.record.entry import Entry, utc_now
from companion.record.journal import Journal
from companion.record.listing import sessions

_LEFT: Final = "Nothing was taken from it; carry the session again from a companion like this one"


class Arrival(StrEnum):
    """What came of bringing a session."""

    ADDED = "added"
    """It was not here; now it is."""
    MOVED_ON = "moved on"
    """The session here went on to where the brought one stands."""
    NOTHING_NEW = "nothing new"
    """The session here holds all of it already."""
    PARTED = "parted"
    """Both went on separately; nothing was changed."""
    KEPT_BOTH = "kept both"
    """As PARTED, and the brought one was added under a name of its own, as was asked for."""


class Parting(NamedTuple):
    """Where two copies of a session stop being the same."""

    number: int
    """Of the first entry that differs."""
    here: Entry
    brought: Entry
    here_last: Entry
    """The newest entry here, so that the weaver knows which of the two has come further."""
    brought_last: Entry


class Brought(Value):
    """What came of bringing a session."""

    outcome: Arrival
    session: str
    """The session's name here."""
    manifest: Manifest
    added: int = 0
    """How many entries are new here."""
    ahead: int = 0
    """With NOTHING_NEW: how many entries the session here has beyond the brought one."""
    parting: Parting | None = None


class Packed(Value):
    """A session that was packed."""

    path: Path
    manifest: Manifest
    is_walked: bool
    """Whether the session was being walked; what is done after is not in the file."""


class Match(NamedTuple):
    """How a session compares with another copy of it."""

    common: int
    """How many entries at their beginnings are the same."""
    here: Entry | None
    """The first entry after those; None where there is none."""
    there: Entry | None

    @property
    def is_behind(self) -> bool:
        """Whether the other copy continues this one."""
        return self.here is None and self.there is not None


def compare(here: Journal, there: Journal) -> Match:
    """Compare two copies of one session, entry by entry and field by field."""
    common = 0
    for mine, other in zip_longest(here.entries(), there.entries()):
        if mine != other:
            return Match(common, mine, other)
        common += 1
    return Match(common, None, None)


def pack(path: Path, to: Path) -> Packed:
    """Write the session at `path` into one file to carry, or into a folder, by its name.

    A file that holds an earlier state of the same session is replaced; any other is left alone.
    Raises JournalError where the session cannot be read, or the file not be written.
    """
    target = to / f"{path.stem}{carried.SUFFIX}" if to.is_dir() else to
    with (
        faults.plainly(target),
        ExitStack() as ending,
        TemporaryDirectory(prefix="companion-") as folder,
    ):
        is_walked = _is_walked(path, ending)
        copy = Path(folder) / path.name
        with Journal.open(path, read_only=True) as journal:
            journal.back_up(copy)
        _settle(copy)
        with Journal.open(copy, read_only=True) as journal:
            if target.exists():
                _check_replaceable(target, journal)
            manifest = _manifest(journal, copy, lock.machine())
        carried.write(target, copy, manifest)
    return Packed(target, manifest, is_walked)


def _is_walked(path: Path, ending: ExitStack) -> bool:
    """Keep the session from being walked until `ending`; return whether it is already."""
    with suppress(OSError):  # where nothing may be written nobody walks
        held = lock.take(path)
        if held is None:
            return True
        ending.callback(held.release)
    return False


def _settle(copy: Path) -> None:
    """Make a copy complete by itself: no walker, one file, no damage."""
    with faults.plainly(copy), closing(store.connect(copy, mode="rw")) as connection:
        connection.execute("UPDATE session SET holder = ''")
        connection.execute("PRAGMA journal_mode=DELETE")
        signs = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if signs != "ok":
        raise faults.damaged(copy, signs)


def _manifest(journal: Journal, file: Path, machine: str) -> Manifest:
    return carried.Manifest(
        session=journal.id,
        identity=journal.identity,
        entries=journal.length,
        machine=machine,
        carried=utc_now(),
        sha256=carried.digest(file),
    )


def _check_replaceable(target: Path, journal: Journal) -> None:
    """Raise unless the file in the way holds nothing that `journal` does not hold."""
    with suppress(JournalError), carried.opened(target) as (_, there):
        if journal.is_copy_of(there) and compare(journal, there).there is None:
            return
    raise JournalError(
        f"{target} exists already and holds something else than an earlier state of "
        f"{journal.id}. Bring it first if it is a session, or name another file."
    )


def bring(
    file: Path, folder: Path, *, keep_both: bool = False, check: Callable[[Journal], object] = bool
) -> Brought:
    """Take the session in a carried file into `folder`; nothing here is ever lost or mixed.

    Args:
        file: written by `pack`, on whatever machine.
        folder: of the sessions.
        keep_both: where both went on separately, add the brought one under a name of its own.
        check: raises CompanionError for a session that could not be walked here.

    Raises:
        JournalError: the file cannot be used, or the session that would move on is being walked.
    """
    with carried.opened(file) as (manifest, there):
        try:
            check(there)
        except CompanionError as error:
            why = error.head if isinstance(error, PlanError) else error
            raise faults.fault(file, "its session cannot be walked", f"{why} {_LEFT}") from None
        return _taken(manifest, there, folder, keep_both=keep_both)


def take_in(there: Journal, folder: Path, *, machine: str) -> Brought:
    """Take in an open session that came from another machine, as `bring` does."""
    return _taken(_manifest(there, there.path, machine), there, folder, keep_both=False)


def _taken(manifest: Manifest, there: Journal, folder: Path, *, keep_both: bool) -> Brought:
    with lock.folder(folder):
        copies = _copies(there, folder)
        for copy in copies:
            if copy.match.there is None:
                ahead = copy.entries - manifest.entries
                return Brought(Arrival.NOTHING_NEW, copy.path.stem, manifest, ahead=ahead)
        behind = [copy for copy in copies if copy.match.is_behind]
        if behind:
            return _move_on(max(behind, key=lambda copy: copy.entries).path, manifest, there)
        if copies and not keep_both:
            return _parted(max(copies, key=lambda copy: copy.match.common), manifest, there)
        with Journal.copy_of(there, folder, manifest.session) as added:
            outcome = Arrival.KEPT_BOTH if copies else Arrival.ADDED
            return Brought(outcome, added.id, manifest, added=manifest.entries)


class _Copy(NamedTuple):
    """A session here that is a copy of the brought one."""

    path: Path
    last: Entry | None
    match: Match

    @property
    def entries(self) -> int:
        """How many it holds."""
        return self.last.number if self.last else 0


def _copies(there: Journal, folder: Path) -> list[_Copy]:
    """Return the copies here, the one last used first; one that cannot be read cannot be one."""
    found = []
    for summary in sessions(folder):
        if summary.fault or summary.identity != there.identity:
            continue
        with suppress(JournalError), Journal.open(summary.path, read_only=True) as here:
            if here.is_copy_of(there):
                match = compare(here, there)
                found.append(_Copy(summary.path, here.last_entry(), match))
    return found


def _move_on(path: Path, manifest: Manifest, there: Journal) -> Brought:
    """Add what is new, now that the lock keeps anyone from walking here meanwhile."""
    with Journal.open(path) as here:
        if not compare(here, there).is_behind:
            raise JournalError(f"{here.id} was walked just now. Bring the session once more.")
        added = here.continue_with(there)
        return Brought(Arrival.MOVED_ON, here.id, manifest, added=added)


def _parted(copy: _Copy, manifest: Manifest, there: Journal) -> Brought:
    common, mine, other = copy.match
    last = there.last_entry()
    if not (mine and other and copy.last and last):  # pragma: no cover - one continues the other
        raise AssertionError
    parting = Parting(common + 1, mine, other, copy.last, last)
    return Brought(Arrival.PARTED, copy.path.stem, manifest, parting=parting)
