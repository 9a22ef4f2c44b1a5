"""One loom of the studio: its walk on a thread of its own, with a page, a voice and a journal."""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any, Final, Literal, NamedTuple

from companion.base import fault_log
from companion.base.errors import CompanionError
from companion.base.text import capital
from companion.devices.speech.voice import ClipSource, Voice
from companion.job import Stage, stages, whole_job
from companion.loom.compute import read_and_compute
from companion.out.board.source import BoardSource
from companion.out.studio.standing import Standing
from companion.out.studio.watch import Watch
from companion.record import Journal
from companion.session.presenter import Console, Presenter
from companion.session.replan import Replan
from companion.session.session_lookup import Wanted, open_for_plan, stages_of
from companion.session.setup import known, options_of, presenter_of, remember
from companion.session.sitting import Sitting
from companion.settings import Settings, load_usable
from companion.wording import notices
from companion.wording import studio as wording

_log = logging.getLogger(__name__)
END_SECONDS: Final = 20.0
"""How long a walk may take to end in good order."""
AGAIN_SECONDS: Final = 0.3
_BEGINNING: Final = threading.Lock()
"""Sessions come to be one after the other; many begun at once must not wait in vain for that."""
_SETTINGS: Final = threading.Lock()
"""Two walks that end at once change the settings one after the other."""
Part = Literal["threading", "whole job"]


class _Nowhere(StringIO):
    """A stream that keeps nothing."""

    def write(self, text: str) -> int:
        return len(text)


_NOWHERE: Final = Console(_Nowhere())
"""What a loom prints, its pages show."""


class Begin(NamedTuple):
    """What is to be walked."""

    path: Path
    """Of a plan, or of a session."""
    weaver: str = ""
    part: Part = "threading"
    """Of a plan: the passes of threading and sleying, or every stage it has."""


class Shared(NamedTuple):
    """What all looms of a studio share."""

    journals: Path
    clips: Callable[[], ClipSource]
    changed: Callable[[Standing], None]
    """Told on the loom's thread whenever it stands otherwise."""
    wrote: Callable[[Path], None]
    """Told on the loom's thread that a session has more entries than before."""
    begins: Callable[[str, str], None]
    """Told the loom's key and the session's identity before it is walked; raises CompanionError
    where it must not be."""


class StudioLoom:
    """A loom by its key, which no other has, and the name that people call it, "loom 3"."""

    def __init__(self, key: str, name: str, shared: Shared) -> None:
        self.key = key
        self.name = name
        self._shared = shared
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self.standing = Standing(key, name, "free")
        self.session: Path | None = None
        """The session walked here last."""
        self.weaver = ""
        self.board = _idle(name)

    @property
    def is_walked(self) -> bool:
        """Whether a walk is under way."""
        return self._thread is not None and self._thread.is_alive()

    def begin(self, what: Begin) -> None:
        """Begin or go on with a walk, on a thread of its own; CompanionError if there is one."""
        with self._lock:
            if self.is_walked:
                raise CompanionError(f"{capital(self.name)} is being walked. End that walk first.")
            self.weaver = what.weaver
            self._thread = threading.Thread(
                target=self._run, args=(what,), name=f"loom {self.key}", daemon=True
            )
            self._thread.start()

    def end(self) -> None:
        """End the walk in good order, if there is one, and wait; CompanionError if it does not."""
        thread = self._thread
        if thread is None:
            return
        latest = time.monotonic() + END_SECONDS
        while thread.is_alive() and time.monotonic() < latest:
            self.board.order("stop")  # a walk that is only just beginning does not hear it yet
            thread.join(AGAIN_SECONDS)
        if thread.is_alive():
            raise CompanionError(f"{capital(self.name)} does not end. Try again in a moment.")

    def _run(self, what: Begin) -> None:
        try:
            with self._opened(what) as journal:
                replan = Replan(journal, Wanted(stages_of(journal), is_whole=True))
                walked = replan.stages()
                self._shared.begins(self.key, journal.identity)
                self.session = journal.path
                self.weaver = journal.weaver = what.weaver or journal.weaver
                self._sit(replan, walked)
            self._stands(condition="stopped", pages=0)
        except CompanionError as error:
            # It is said in the room, where the folder is no news.
            self._failed(str(error).replace(str(what.path), what.path.name))
        except Exception as error:  # noqa: BLE001 - one loom's fault must not end another's walk
            _log.exception("loom %s", self.key)
            self._failed(fault_log.told(error))

    def _failed(self, line: str) -> None:
        self.board = _idle(self.name, line)
        self._stands(condition="fault", why=line)

    def _opened(self, what: Begin) -> Journal:
        if what.path.suffix != ".toml":
            return Journal.open(what.path)
        plan, dressing = read_and_compute(what.path)
        names = stages(dressing) if what.part == "threading" else whole_job(dressing)
        folder = self._shared.journals
        # Several looms may have the same plan, so none goes on in the session of another.
        with _BEGINNING:
            return open_for_plan(
                plan, dressing, folder, Wanted(names), is_new=True, tell=_log.warning
            )

    def _sit(self, replan: Replan, walked: list[Stage]) -> None:
        journal = replan.journal
        settings = load_usable()[0].of(self.weaver)
        presenter = presenter_of(settings, Voice(), _NOWHERE, is_typed=False)
        language = settings.hearing.language
        title = f"{capital(self.name)}: {journal.title}"
        board = BoardSource(title, lambda: sitting.walk, language)
        board.join(presenter, settings, self._shared.clips, has_room=False)
        sitting = self._sitting(replan, walked, presenter, settings)
        if journal.was_cut_off:
            presenter.notice(notices.CUT_OFF)
        watch = Watch(sitting, journal, board.feed, self._watched)
        about = {"title": journal.title, "session": journal.id, "weaver": self.weaver}
        self._stands(condition="walking", why="", **about)
        self.board = board
        sitting.run([board, watch])
        watch.follow_on()
        with _SETTINGS:
            remember(presenter, _NOWHERE, self.weaver)

    def _sitting(
        self, replan: Replan, walked: list[Stage], presenter: Presenter, settings: Settings
    ) -> Sitting:
        journal = replan.journal
        return Sitting(
            walked,
            journal,
            presenter,
            options_of(settings, known(journal)),
            break_seconds=60.0 * settings.walk.break_minutes,
            scan_seconds=settings.walk.scan_seconds,
            replan=replan,
            fault_told=wording.PLAN_FAULT,
        )

    def _watched(self, values: dict[str, Any], *, has_entries: bool) -> None:
        if has_entries and self.session is not None:
            self._shared.wrote(self.session)
        self._stands(**values)

    def _stands(self, **values: Any) -> None:
        after = replace(self.standing, **values)
        if after != self.standing:
            self.standing = after
            self._shared.changed(after)


def _idle(name: str, why: str = wording.NO_WALK) -> BoardSource:
    def none() -> Any:
        raise AssertionError

    board = BoardSource(capital(name), none, "en")
    board.feed.end(why)
    return board
