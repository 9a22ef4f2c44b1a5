"""The board as one more source of commands, and one more listener to what is said."""

import queue
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from typing import Annotated, Final, Literal, Protocol

from pydantic import Field

from companion.base.lines import MOST
from companion.command import Kind, parsed
from companion.devices.pedal.keys import BURST_PRESSES
from companion.devices.speech.voice import ClipSource, TwoVoices
from companion.guide.effects import Tune
from companion.guide.messages import Mode
from companion.loom.dressing import Dressing
from companion.out.board.feed import Feed
from companion.out.board.page_ear import PageEar
from companion.out.board.page_voice import PageVoice
from companion.out.board.strict import Strict
from companion.out.board.view import view_of
from companion.session.inputs import Inbox, Input
from companion.session.presenter import Presenter
from companion.session.walk import StageWalk
from companion.settings import Settings

Answer = Literal["taken", "late", "full", "ended"]
"""What became of a command: the walk has it; it was given for a step that is past; too many wait
already; or the walk has ended."""
ANSWERS_KEPT: Final = 1000
"""Commands of which the answer is remembered, so that one sent twice is taken once."""
GOODBYE_SECONDS: Final = 3.0
"""No page keeps the walk from ending for longer."""
TIMELESS: Final = frozenset({Kind.REPEAT, Kind.WHERE, Kind.HELP, Kind.SLOWER, Kind.FASTER})
"""Commands that change no place, and fit whatever step is present."""
STEPPING: Final = frozenset({Kind.DONE, Kind.BACK})
STEPPED: Final = frozenset({Mode.WALKING, Mode.READING, Mode.MENDING})
"""Where such a command leads from one step to another, a press means at both what it means."""
_Identity = Annotated[str, Field(min_length=8, max_length=64, pattern=r"^[0-9A-Za-z-]+$")]


class Given(Strict):
    """A command as a page sends it."""

    kind: Literal["give"] = "give"
    id: _Identity
    """Chosen by the page, another for every press."""
    run: Annotated[str, Field(max_length=20)]
    """The run of the server that showed the place it was given for."""
    step: Annotated[int, Field(ge=0, le=10**9)]
    """That place."""
    text: Annotated[str, Field(min_length=1, max_length=MOST)]
    """The command's words in English."""
    after: Annotated[str, Field(max_length=64)] = ""
    """The press before it on that page, which may have been on its way still."""
    quick: Annotated[tuple[_Identity, ...], Field(max_length=BURST_PRESSES - 1)] = ()
    """The presses just before it that were sent as done and meant this."""


class Server(Protocol):
    """What shows the board to browsers."""

    def start(self) -> None:
        """Begin to serve; must not block."""

    def stop(self) -> None:
        """Let the last events out and end."""


class BoardSource:
    """Takes commands for the walk from any number of boards, and tells them all where it is.

    Commands come from the server's thread; everything else happens in the walk's own thread.
    `walk` gives the stage being walked, once the sitting has begun.
    """

    def __init__(self, title: str, walk: Callable[[], StageWalk], language: str) -> None:
        self.title = title
        self.feed = Feed(secrets.token_hex(4))
        self.server: Server | None = None
        self.voice: PageVoice | None = None
        self.ear: PageEar | None = None
        self.dressing: Dressing | None = None
        self._both: TwoVoices | None = None
        self._walk = walk
        self._language = language
        self._lock = threading.Lock()
        self._answers: OrderedDict[str, Future[Answer]] = OrderedDict()
        self._inbox: Inbox | None = None
        self._shown: object = None
        self._shown_as: tuple[str, str] | None = None
        self._step = 0
        self._led_by: str | None = None
        """The press that led to the present step, where it did no more than go on or back."""
        self._is_alike = False
        """Whether the step before was one like it."""
        self._taken: tuple[Given, Future[Answer]] | None = None

    def join(
        self,
        presenter: Presenter,
        settings: Settings,
        clips: Callable[[], ClipSource],
        *,
        has_room: bool,
    ) -> None:
        """Have the pages show, speak and hear beside what the presenter has in the room, if any.

        `clips` gives what turns lines into sound, at the first that is wanted; what recognises is
        loaded when a page listens.
        """
        presenter.listen(self.hear)
        self.voice = PageVoice(self.feed, clips, presenter.words_per_minute)
        self._both = presenter.speak_also(self.voice)
        if has_room:
            self.feed.room(is_on=True)
        if settings.hearing.recogniser != "off":
            from companion.session.listening import distant_ears  # noqa: PLC0415 - slow to load

            self.ear = PageEar(distant_ears(settings, presenter))

    def set_room(self, *, is_on: bool) -> None:
        """Let the room's voice speak, or silence it; every page is told."""
        if self._both is not None:
            self._both.set_room(is_on=is_on)
            self.feed.room(is_on=is_on)

    def start(self, inbox: Inbox) -> None:
        """Take commands from now on; the place is shown only then: a page may answer at once."""
        self._inbox = inbox
        self._show()
        if self.ear is not None:
            self.ear.start(inbox)
        if self.server is not None:
            self.server.start()

    def hear(self, text: str, tune: Tune | None) -> None:
        """Pass on a line that is printed."""
        self.feed.line(text, tune or "")

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Show the place, where it is another, and answer the command that led there."""
        if self.ear is not None:
            self.ear.follow(mode, largest_end)
        if self._inbox is not None:
            self._show()
        if self._taken is not None:
            _settle(self._taken[1], "taken")
            self._taken = None

    def _show(self) -> None:
        walk = self._walk()
        self.dressing = walk.stage.dressing.whole or walk.stage.dressing
        shown = (walk.stage, walk.state)  # turned to the other edge, a stage keeps its name
        if shown != self._shown:
            self._shown = shown
            self._step += 1
            view = view_of(walk.state, walk.stage, self._language)
            self._note_way((view.stage, view.mode))
            edge = view.strip["edge"] if view.strip else ""
            about = {"title": self.title, "step": self._step, "edge": edge}
            self.feed.place({**about, **view.as_values()})

    def _note_way(self, shown_as: tuple[str, str]) -> None:
        given = self._taken[0] if self._taken else None
        self._led_by = given.id if given and _kind(given.text) in STEPPING else None
        self._is_alike = shown_as == self._shown_as and shown_as[1] in STEPPED
        self._shown_as = shown_as

    def close(self) -> None:
        """Tell every board that the walk has ended, and answer whoever still waits."""
        self.feed.end("The walk has ended here; your place is kept.")
        with self._lock:
            self._inbox = None
            waiting = list(self._answers.values())
        for answer in waiting:
            _settle(answer, "ended")
        if self.ear is not None:
            self.ear.close()
        if self.server is not None:
            self._let_go()
            self.server.stop()

    def _let_go(self) -> None:
        """Wait a little until every page has heard that the walk has ended."""
        latest = time.monotonic() + GOODBYE_SECONDS
        while self.feed.watched_by and time.monotonic() < latest:
            time.sleep(0.01)

    def give(self, given: Given) -> Future[Answer]:
        """Put a command in the walk's inbox, once for each identity."""
        with self._lock:
            if given.id in self._answers:
                return self._answers[given.id]
            answer: Future[Answer] = Future()
            self._answers[given.id] = answer
            if len(self._answers) > ANSWERS_KEPT:
                self._answers.popitem(last=False)
            inbox, quick = self._inbox, sum(map(self._was_taken, given.quick))
        if inbox is None:
            _settle(answer, "ended")
            return answer
        try:
            inbox.put_nowait(_input(given, lambda: self._is_due(given, answer), quick))
        except queue.Full:
            _settle(answer, "full")
        return answer

    def _was_taken(self, identity: str) -> bool:
        answer = self._answers.get(identity)
        return answer is not None and answer.done() and answer.result() == "taken"

    def order(self, text: str) -> None:
        """Give a command for whatever step is present, as the teacher does; any thread may."""
        self._put(Input("command", text, "board"))

    def notice(self, text: str) -> None:
        """Tell the weaver something; any thread may."""
        self._put(Input("notice", text, "board"))

    def _put(self, given: Input) -> None:
        """Put it on the walk's queue, if there is one and it has room."""
        with self._lock:
            inbox = self._inbox
        if inbox is not None:
            with suppress(queue.Full):
                inbox.put_nowait(given)

    def _is_due(self, given: Given, answer: Future[Answer]) -> bool:
        goes_on = self._is_alike and given.after == self._led_by
        is_present = given.step == self._step or goes_on or self._led_by in given.quick
        if not (is_present and given.run == self.feed.run) and _kind(given.text) not in TIMELESS:
            _settle(answer, "late")
            return False
        self._taken = given, answer
        return True


def _input(given: Given, is_due: Callable[[], bool], quick: int) -> Input:
    """Return the command; leaving for the day is asked about, since a finger slips easily."""
    asks_back = _kind(given.text) is Kind.STOP
    return Input("command", given.text, "board", asks_back, is_due, quick, Kind.DONE)


def _kind(text: str) -> Kind | None:
    command = parsed(text)
    return None if command is None else command.kind


def _settle(answer: Future[Answer], value: Answer) -> None:
    if not answer.done():
        answer.set_result(value)
