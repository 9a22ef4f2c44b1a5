"""All looms of one process, what is told of them to the teacher, and what she may have done."""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from companion.base import uncollected
from companion.base.clean import clean_line
from companion.base.errors import CompanionError
from companion.base.lines import Tell
from companion.base.text import capital
from companion.devices.audio.tones import ToneName
from companion.out.board.feed import Feed
from companion.out.board.page_voice import PageVoice
from companion.out.studio import kept
from companion.out.studio.loom import Begin, Part, Shared, StudioLoom
from companion.out.studio.standing import TROUBLE, UNDER_WAY, Standing, news, roll_call
from companion.record import find, sessions
from companion.session.session_lookup import fault_of
from companion.wording import studio as wording

if TYPE_CHECKING:
    from companion.devices.speech.voice import ClipSource
    from companion.loom.dressing import Dressing
    from companion.out.board.line import Shown
    from companion.out.board.page_ear import PageEar
    from companion.out.board.source import Answer
    from companion.out.studio.sharing import Sharing

_log = logging.getLogger(__name__)
_MOST_PLANS: Final = 500
TIDY_SECONDS: Final = 2.0
"""How long after a walk has begun or ended its waste is looked for."""
SHARED: Final = "shared:"
"""Stands before the name of a session in the school's record."""


class Desk:
    """What the teacher's page shows, and says where it is asked to."""

    def __init__(self, clips: Callable[[], ClipSource], words_per_minute: int) -> None:
        self.title = "Looms"
        self.feed = Feed(secrets.token_hex(4))
        self.voice: PageVoice | None = PageVoice(self.feed, clips, words_per_minute)
        self.ear: PageEar | None = None
        self.dressing: Dressing | None = None

    def say(self, text: str, *, is_trouble: bool) -> None:
        """Tell every teacher's page something, after what is being said."""
        self.feed.line(text, "trouble" if is_trouble else "")
        if self.voice is not None:
            tones = [ToneName.TROUBLE] if is_trouble else []
            self.voice.play([*tones, text], interrupt=False)

    def give(self, *_given: Any, **_named: Any) -> Future[Answer]:
        """Take no command: a loom is steered on its own page."""
        answer: Future[Answer] = Future()
        answer.set_result("late")
        return answer

    def set_room(self, *, is_on: bool) -> None:
        """There is no voice in the room to be silenced from a page."""


class Studio:
    """Looms by their keys.

    Args:
        plans: the folder with the plans that can be walked.
        home: the folder where the looms are kept.
        journals: the folder where sessions are kept.
        clips: gives what turns lines into sound, shared by all looms.
        words_per_minute: of the voice on the teacher's page.
        aloud: told each line that is worth saying; any thread may call it.
        tell: told each line that is to be printed alone, such as a code.
    """

    def __init__(
        self,
        *,
        plans: Path,
        home: Path,
        journals: Path,
        clips: Callable[[], ClipSource],
        words_per_minute: int,
        aloud: Tell,
        tell: Tell,
    ) -> None:
        self.plans, self.journals = plans, journals
        self._path = home / kept.LOOMS_FILE
        self._aloud = aloud
        self.tell = tell
        self._lock = threading.RLock()
        self._looms: dict[str, StudioLoom] = {}
        self._standings: dict[str, Standing] = {}
        """Of these looms by their keys, and of those of other servers, by the server's name too."""
        self._is_ending = False
        self._tidying: threading.Timer | None = None
        self.desk = Desk(clips, words_per_minute)
        self.sharing: Sharing | None = None
        """The school's record, where there is one."""
        self._shared = Shared(self.journals, clips, self._changed, self._wrote, self._begins)
        for each in kept.read(self._path):
            self._add(each)

    def find(self, key: str) -> Shown | None:
        """Return what the page of a loom shows; None where there is no such loom."""
        loom = self._looms.get(key)
        return loom.board if loom else None

    def loom(self, key: str) -> StudioLoom:
        """Return a loom; CompanionError where there is none of that key."""
        with self._lock:
            if key in self._looms:
                return self._looms[key]
        raise CompanionError(f"There is no loom {key!r:.60} here.")

    def looms(self) -> tuple[StudioLoom, ...]:
        """Return all looms, in the order they were named."""
        with self._lock:
            return tuple(self._looms.values())

    def names(self) -> list[str]:
        """Return what there is to walk: the names of the plan files."""
        return sorted(each.name for each in self.plans.glob("*.toml"))[:_MOST_PLANS]

    def unfinished(self) -> list[tuple[str, str]]:
        """Return the sessions that can be gone on with, by name and title, the latest first."""
        here = {each.standing.session for each in self.looms() if each.is_walked}
        return [
            (each.id, each.title)
            for each in sessions(self.journals)
            if each.id not in here and not each.is_finished and not fault_of(each)
        ]

    def others(self) -> tuple[Standing, ...]:
        """Return how the looms of the school's other servers stand."""
        with self._lock:
            return tuple(each for each in self._standings.values() if each.server)

    def roll_call(self) -> str:
        """Return what is said of all looms at once, trouble first."""
        with self._lock:
            return roll_call(tuple(self._standings.values()))

    # ---- what the teacher does

    def take_up(self) -> None:
        """Go on with every walk that was under way when the studio was ended."""
        for each in kept.read(self._path):
            if each.is_walked and each.session:
                with suppress(CompanionError):
                    path = find(self.journals, each.session)
                    self._looms[each.key].begin(Begin(path, each.weaver))

    def _path_of(self, what: str, *, is_affirmed: bool) -> Path:
        """Return the file of a plan or of a session, brought from another server if it is there."""
        if what in self.names():
            return self.plans / what
        if self.sharing is not None and what.startswith(SHARED):
            return self.sharing.take_up(what.removeprefix(SHARED), is_affirmed=is_affirmed)
        return find(self.journals, what or "?")

    def start(
        self,
        name: str,
        what: str,
        weaver: str,
        part: Part = "threading",
        *,
        is_affirmed: bool = False,
    ) -> StudioLoom:
        """Begin a walk at a loom, which is made where there is none of that name; "" is the next.

        Args:
            name: of the loom.
            what: a plan's file in the folder, a session's name, or that of another server's
                session after `SHARED`.
            weaver: who sits there.
            part: of a plan, what is walked.
            is_affirmed: take a session of another server up although that has not given it back.

        Raises:
            CompanionError: there is no such plan, or something is walked at the loom.
        """
        weaver, name = clean_line(weaver)[: kept.LONGEST_NAME], clean_line(name)
        loom = self._named(name)
        path = self._path_of(what, is_affirmed=is_affirmed)
        loom.begin(Begin(path, weaver, part))
        return loom

    def hand_over(self, loom: StudioLoom, weaver: str) -> None:
        """Have somebody else go on with the walk of a loom; CompanionError without one."""
        if loom.session is None:
            raise CompanionError(f"Nothing was walked at {loom.name} yet.")
        loom.end()
        loom.begin(Begin(loom.session, clean_line(weaver)[: kept.LONGEST_NAME]))

    def remove(self, loom: StudioLoom) -> None:
        """Take a loom without a walk off the list; its sessions stay. Else CompanionError."""
        if loom.is_walked:
            raise CompanionError(f"{capital(loom.name)} is being walked. End that walk first.")
        with self._lock:
            del self._looms[loom.key], self._standings[loom.key]
            self._keep()
        if self.sharing is not None:
            self.sharing.stands(loom.key, None)
        self.desk.feed.part("gone", {"key": loom.key}, self._whole())

    def close(self) -> None:
        """End every walk in good order; they go on when the studio is started again."""
        self._is_ending = True
        walked = [each for each in self.looms() if each.is_walked]
        for each in walked:
            each.board.order("stop")
        for each in walked:
            with suppress(CompanionError):
                each.end()
        self.desk.feed.end("The studio has been ended; every place is kept.")

    # ---- keeping and telling

    def _named(self, name: str) -> StudioLoom:
        with self._lock:
            found = [each for each in self._looms.values() if each.name.lower() == name.lower()]
            if found:
                return found[0]
            if len(self._looms) >= kept.MOST_LOOMS:
                raise CompanionError(f"Expected at most {kept.MOST_LOOMS} looms. Remove one first.")
            taken = {each.name for each in self._looms.values()}
            numbered = (f"loom {number}" for number in range(1, kept.MOST_LOOMS + 2))
            name = name[: kept.LONGEST_NAME] or next(each for each in numbered if each not in taken)
            new = kept.KeptLoom(key=kept.free_key(name, self._looms), name=name)
            loom = self._add(new)
            self._keep()
            return loom

    def _add(self, one: kept.KeptLoom) -> StudioLoom:
        loom = StudioLoom(one.key, one.name, self._shared)
        loom.weaver = one.weaver
        if one.session:
            with suppress(CompanionError):
                loom.session = find(self.journals, one.session)
        self._looms[one.key] = loom
        self._changed(loom.standing)
        return loom

    def _keep(self) -> None:
        """Write down the looms; where that fails the walks go on, and the log tells."""
        looms = [
            kept.KeptLoom(
                key=each.key,
                name=each.name,
                session=each.session.stem if each.session else "",
                weaver=each.weaver,
                is_walked=self._standings[each.key].condition in UNDER_WAY,
            )
            for each in self._looms.values()
        ]
        try:
            kept.write(self._path, looms)
        except CompanionError as error:
            _log.warning("%s", error)

    def _tidy_soon(self) -> None:
        """Look for waste once after walks have begun or ended, and pass over all the rest later.

        Looking through all that fifty looms have takes 200 ms, in which no press is answered, and
        Python would do it twice a minute.
        """
        if self._tidying is not None:
            self._tidying.cancel()
        self._tidying = threading.Timer(TIDY_SECONDS, uncollected.keep)
        self._tidying.daemon = True
        self._tidying.start()

    def _changed(self, after: Standing) -> None:
        with self._lock:
            if after.key not in self._looms:
                return
            before = self._standings.get(after.key)
            self._standings[after.key] = after
            is_other = before is None or (before.session, before.condition, before.weaver) != (
                after.session,
                after.condition,
                after.weaver,
            )
            if is_other and before is not None and not self._is_ending:
                self._keep()
                if (before.condition in UNDER_WAY) != (after.condition in UNDER_WAY):
                    self._tidy_soon()
            whole = self._whole()
        if self.sharing is not None:
            self.sharing.stands(after.key, after)
        self._tell(before, after, whole)

    def _tell(self, before: Standing | None, after: Standing, whole: dict[str, Any]) -> None:
        """Show how a loom stands, and say what of that is news."""
        self.desk.feed.part("loom", after.as_values(), whole)
        if said := news(before, after) if before else "":
            self.announce(said, is_trouble=after.condition in TROUBLE)

    def _wrote(self, path: Path) -> None:
        if self.sharing is not None:
            self.sharing.wrote(path)

    def _begins(self, key: str, identity: str) -> None:
        if self.sharing is not None:
            self.sharing.begins(key, identity)

    # ---- other servers

    def announce(self, text: str, *, is_trouble: bool) -> None:
        """Tell the teacher something, on her pages and aloud."""
        self.desk.say(text, is_trouble=is_trouble)
        self._aloud(text)

    def lost(self, key: str, server: str) -> None:
        """End the walk of a loom whose session another server has taken up."""
        loom = self._looms.get(key)
        if loom is not None:
            loom.board.order("stop")
            self.announce(wording.taken_elsewhere(loom.name, server), is_trouble=True)

    def elsewhere(self, key: str, after: Standing | None) -> None:
        """Show a loom of another server; None takes it away."""
        with self._lock:
            before = self._standings.pop(key, None)
            if after is not None:
                self._standings[key] = after
            whole = self._whole()
        if after is None:
            self.desk.feed.part("gone", {"key": key}, whole)
        elif after != before:
            self._tell(before, after, whole)

    def _whole(self) -> dict[str, Any]:
        return {"looms": [each.as_values() for each in self._standings.values()]}
