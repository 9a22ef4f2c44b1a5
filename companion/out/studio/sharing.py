"""Sends what the looms write to the school's database, and shows the looms of other servers.

A thread of its own has the connection; no walk waits for it. What could not be sent is sent when
the database is reached again, after a restart too.
"""

import json
import logging
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from typing import Final, TypeVar

from companion.base import fault_log, files
from companion.base.errors import CompanionError
from companion.out.studio.day import DaysWork, work_elsewhere
from companion.out.studio.doings import obey
from companion.out.studio.standing import Standing, elsewhere
from companion.out.studio.studio import Studio
from companion.record import find
from companion.record.carry import Arrival
from companion.record.orders import Orders
from companion.record.school import CHANNEL, School
from companion.record.school_door import connect
from companion.session.session_lookup import check
from companion.wording import studio as wording

_log = logging.getLogger(__name__)
BEAT_SECONDS: Final = 5.0
"""How often leases are renewed, and other servers told that this one is there."""
_AGAIN_SECONDS: Final = (0.5, 10.0)
"""How long to wait before the database is tried again, at first and at most."""
_LAST_SECONDS: Final = 10.0
_TAKEN_SECONDS: Final = 6.0
"""How long an order waits for the server it is for."""
_DONE_SECONDS: Final = 30.0
"""And how long for its answer; ending a walk may take most of that."""
_LOOK_SECONDS: Final = 1.0
"""How often it is looked for, should the news of it be lost."""
SENT_FILE: Final = "shared.json"
_Answer = TypeVar("_Answer")


class Sharing:
    """One server's part in a school's record.

    Args:
        url: of the database.
        secret: its password; None where it asks for none.
        studio: the looms of this server.
        home: where the names of the sessions to be sent are kept.
        server: this server's name, which no other of the school has.
    """

    def __init__(
        self, url: str, secret: str | None, studio: Studio, home: Path, server: str = ""
    ) -> None:
        self._url, self._secret = url, secret
        self._studio = studio
        self._path = home / SENT_FILE
        self.server = server or socket.gethostname()
        self._lock = threading.Lock()
        self._wake = threading.Event()
        self._ending = threading.Event()
        self._is_away: bool | None = None
        self._known = _read(self._path)
        self._due: set[Path] = set()
        self._looms: dict[str, Standing | None] = {}
        self._leases: dict[str, str] = {}
        """The identity of the session that each loom walks, by the loom's key."""
        self._ended: set[str] = set()
        """Sessions that others may have once all of them is sent."""
        self._parted: set[str] = set()
        self._elsewhere: set[str] = set()
        self._threads = [
            threading.Thread(target=self._keep, args=(each,), name="sharing", daemon=True)
            for each in (self._send, self._look, self._obey)
        ]

    def start(self) -> None:
        """Begin to send and to look, on threads of their own."""
        self._due |= self._kept_paths()
        for each in self._threads:
            each.start()

    def close(self) -> None:
        """Send what is left, if that is possible soon, and let the sessions be taken elsewhere."""
        self._ending.set()
        self._wake.set()
        self._threads[0].join(_LAST_SECONDS)

    # ---- told by the looms, on their threads

    def wrote(self, path: Path) -> None:
        """Learn that a session has more entries."""
        with self._lock:
            self._due.add(path)
            if path.stem not in self._known:
                self._known.add(path.stem)
                _write(self._path, self._known)
        self._wake.set()

    def stands(self, key: str, standing: Standing | None) -> None:
        """Learn how a loom stands."""
        with self._lock:
            self._looms[key] = standing
            if (standing is None or standing.condition in _LEFT) and key in self._leases:
                self._ended.add(self._leases.pop(key))
        self._wake.set()

    def begins(self, key: str, identity: str) -> None:
        """Have a session for a loom alone; CompanionError while another server is walking it.

        Where the database is not reached the walk goes on here all the same.
        """
        with suppress(_AwayError):
            found = self._ask(lambda school: school.lease(identity) or school.holder(identity))
            if not isinstance(found, int) and found is not None:
                raise CompanionError(wording.walked_elsewhere(found.server))
        with self._lock:
            self._leases[key] = identity
            self._ended.discard(identity)

    # ---- asked by the teacher

    def take_up(self, name: str, *, is_affirmed: bool) -> Path:
        """Have a session of another server here; return its file.

        Raises:
            CompanionError: it is walked there, the database is away, or both servers went on with
                it; or it was not given back there, and nobody has affirmed taking it all the same.
        """
        identity = name.partition("@")[0]

        def taken(school: School) -> Path:
            held = school.holder(identity)
            if held and held.server not in {"", self.server}:
                if held.is_there:
                    raise CompanionError(wording.walked_elsewhere(held.server))
                if not is_affirmed:
                    raise CompanionError(wording.not_given_back(held.server))
            if school.lease(identity) is None:
                raise CompanionError(wording.walked_elsewhere(held.server if held else "?"))
            brought = school.take_in(name, self._studio.journals, check=check)
            if brought.outcome is Arrival.PARTED:
                school.give_back(identity)
                raise CompanionError(wording.parted_here(brought.session))
            return find(self._studio.journals, brought.session)

        return self._ask(taken)

    def sessions(self) -> list[tuple[str, str, str]]:
        """Return the sessions of other servers: name, title and server; none where it is away."""
        with suppress(_AwayError):
            return self._ask(School.sessions)
        return []

    def order(self, server: str, asked: dict[str, str]) -> str:
        """Have another server do something with a loom of its own; return what it tells of that.

        Raises:
            CompanionError: it refuses, does not answer, or the database is away.
        """
        return self._ask(lambda school: self._ordered(school, server, asked))

    def _ordered(self, school: School, server: str, asked: dict[str, str]) -> str:
        there = Orders(school.connection, self.server)
        order = there.ask(server, {**asked, "by": self.server})
        begun = time.monotonic()
        while True:
            state, answer = there.outcome(order)
            waited = time.monotonic() - begun
            if state == "done":
                return wording.done_there(answer, server)
            if state == "refused":
                raise CompanionError(wording.refused_there(server, answer))
            if state == "asked" and waited > _TAKEN_SECONDS and there.withdraw(order):
                raise CompanionError(wording.not_taken_there(server))
            if waited > _DONE_SECONDS:
                raise CompanionError(wording.not_answered_there(server))
            there.wait(_LOOK_SECONDS)

    def worked(self, day: date) -> list[DaysWork]:
        """Return what was done at other servers on a day. Else CompanionError."""
        folder = self._studio.journals
        return self._ask(lambda school: list(work_elsewhere(school, folder, day)))

    def _ask(self, question: Callable[[School], _Answer]) -> _Answer:
        if self._is_away:
            raise _AwayError(wording.SHARED_AWAY)
        import psycopg  # noqa: PLC0415 - optional

        try:
            with self._school() as school:
                return question(school)
        except psycopg.Error as error:
            _log.warning("shared record: %s", error)
            raise _AwayError(wording.SHARED_AWAY) from None

    @contextmanager
    def _school(self) -> Iterator[School]:
        """Give the school's record over a connection of its own."""
        with connect(self._url, self._secret) as connection:
            school = School(connection, self.server)
            school.prepare()
            yield school

    # ---- the threads

    def _keep(self, work: Callable[[School], None]) -> None:
        """Do something for as long as the studio runs, over again when the database was away."""
        import psycopg  # noqa: PLC0415 - optional

        wait, most = _AGAIN_SECONDS
        while not self._ending.is_set():
            try:
                with self._school() as school:
                    self._reached(is_away=False)
                    wait = _AGAIN_SECONDS[0]
                    work(school)
            except psycopg.Error as error:
                _log.info("shared record: %s", error)
                self._reached(is_away=True)
            except Exception:  # noqa: BLE001 - what another server wrote must not end this one's part
                _log.exception("shared record")
            self._ending.wait(wait)
            wait = min(2 * wait, most)

    def _reached(self, *, is_away: bool) -> None:
        with self._lock:
            was, self._is_away = self._is_away, is_away
            if not is_away:
                self._due |= self._kept_paths()
        if is_away and not was:
            self._studio.announce(wording.SHARED_AWAY, is_trouble=True)
        elif was and not is_away:
            self._studio.announce(wording.SHARED_BACK, is_trouble=False)

    def _send(self, school: School) -> None:
        """Send what is due, and renew what is held."""
        beat_at = 0.0
        while True:
            is_last = self._ending.is_set()
            self._send_due(school)
            now = time.monotonic()
            if now >= beat_at:
                self._renew(school)
                beat_at = now + BEAT_SECONDS
            self._show(school)
            self._give_back(school)
            if is_last:
                return
            self._wake.wait(BEAT_SECONDS)
            self._wake.clear()

    def _send_due(self, school: School) -> None:
        with self._lock:
            due, self._due = sorted(self._due), set()
        for number, path in enumerate(due):
            try:
                sent = school.send(path)
            except CompanionError as error:
                _log.warning("not shared: %s", error)
            except BaseException:
                with self._lock:
                    self._due.update(due[number:])
                raise
            else:
                self._told_of(path, sent.name)

    def _told_of(self, path: Path, name: str) -> None:
        if name and name not in self._parted:
            self._parted.add(name)
            self._studio.announce(wording.parted(path.stem), is_trouble=True)

    def _renew(self, school: School) -> None:
        with self._lock:
            held = dict(self._leases)
        for key, identity in held.items():
            if school.lease(identity) is None:
                holder = school.holder(identity)
                with self._lock:
                    self._leases.pop(key, None)
                self._studio.lost(key, holder.server if holder else "?")
        school.tell()

    def _show(self, school: School) -> None:
        with self._lock:
            due, self._looms = self._looms, {}
        try:
            for key, standing in due.items():
                school.show(key, standing.as_values() if standing else None)
            if due:
                school.tell()
        except BaseException:
            with self._lock:
                self._looms = {**due, **self._looms}
            raise

    def _give_back(self, school: School) -> None:
        """Let others have what is not walked here any more, once all of it is sent."""
        with self._lock:
            ended = set(self._ended)
        if ended:
            self._send_due(school)
        for identity in ended:
            school.give_back(identity)
            with self._lock:
                self._ended.discard(identity)

    def _look(self, school: School) -> None:
        """Show the looms of other servers, whenever there is news of them."""
        school.connection.execute(f"LISTEN {CHANNEL}")
        while not self._ending.is_set():
            looms = {f"{each.server}/{each.values['key']}": each for each in school.looms()}
            for key in self._elsewhere - looms.keys():
                self._studio.elsewhere(key, None)
            for key, (server, values, is_there) in looms.items():
                self._studio.elsewhere(key, elsewhere(key, server, values, is_there=is_there))
            self._elsewhere = set(looms)
            # What came meanwhile is all told by one look; news may be lost while away.
            for _ in school.connection.notifies(timeout=BEAT_SECONDS, stop_after=1):
                pass

    def _obey(self, school: School) -> None:
        """Do what other servers ask for with the looms of this one, one after the other."""
        here = Orders(school.connection, self.server)
        while not self._ending.is_set():
            for order, asked in here.take():
                try:
                    told, is_done = obey(self._studio, asked), True
                except CompanionError as error:
                    told, is_done = str(error), False
                except Exception as error:  # noqa: BLE001 - the next order is carried out all the same
                    _log.exception("order %s", asked)
                    told, is_done = fault_log.told(error), False
                here.answer(order, told, is_done=is_done)
                if is_done:
                    by = wording.asked_for(told, asked.get("by", "?"))
                    self._studio.announce(by, is_trouble=False)
            here.wait(BEAT_SECONDS)

    def _kept_paths(self) -> set[Path]:
        found = set()
        for name in self._known:
            with suppress(CompanionError):
                found.add(find(self._studio.journals, name))
        return found


class _AwayError(CompanionError):
    """The database is not reached."""


_LEFT: Final = frozenset({"stopped", "free", "fault"})


def _read(path: Path) -> set[str]:
    with suppress(OSError, ValueError):
        return {str(each) for each in json.loads(path.read_text(encoding="utf-8"))}
    return set()


def _write(path: Path, names: set[str]) -> None:
    try:
        files.replace(path, json.dumps(sorted(names)).encode(), mode=0o600)
    except OSError as error:
        _log.warning("%s cannot be written: %s", path, error)
