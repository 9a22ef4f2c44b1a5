"""The ear of a walk: microphone to listener to commands, in a thread of its own."""

import threading
from collections.abc import Callable

from companion.base.errors import CompanionError, ModelError
from companion.base.lines import Tell
from companion.devices.audio.microphone import Block, Microphone
from companion.devices.hearing.hearing import Accepted, Judgement, Refused
from companion.devices.hearing.listener import Listener
from companion.devices.hearing.settings import HearingSettings
from companion.devices.recogniser.activity import VoiceActivity
from companion.devices.recogniser.interface import Refusal, Vocabulary
from companion.guide.messages import Mode
from companion.session.inputs import Inbox, Input
from companion.session.presenter import Presenter
from companion.session.recognisers import ChosenEar, problems
from companion.session.spoken import LARGEST_NUMBER, vocabulary
from companion.wording import notices
from companion.wording.hearing import LOUD_ROOM, failed

JOIN_SECONDS = 0.8
"""Numbers said with shorter pauses between are one row: "one, two, three, four"."""
TELL_SECONDS = 2.0
"""A refusal that comes sooner after the last one is not told: talk must not set off a fanfare."""

_DROWNED_TOLD = 3
CLOSE_SECONDS = 3.0
"""How long the ear may take to stop; native code must not run on while the program ends."""


class NumberRow:
    """Number words said one after another, until a pause ends the row.

    One word in the middle that was not understood spoils it all: a row with a hole is another row.
    """

    def __init__(self) -> None:
        self._words: list[str] = []
        self._ended_at = 0.0

    def add(self, accepted: Accepted) -> None:
        """Take the next of the row."""
        self._words.append(accepted.words)
        self._ended_at = accepted.end_seconds

    def is_over(self, seconds: float) -> bool:
        """Whether there is a row, and its pause has passed."""
        return bool(self._words) and seconds - self._ended_at > JOIN_SECONDS

    def spoil(self, refused: Refused) -> bool:
        """Drop the row where a sound inside it was refused; a mere click is let be."""
        if not self._words or refused.refusal is Refusal.SHORT:
            return False
        self._words.clear()
        return True

    def taken(self) -> str:
        """Return the row as one command and begin afresh; empty where there is none."""
        words, self._words = " ".join(self._words), []
        return words


class Ear:
    """Hears commands and puts them in the inbox; whatever breaks, the walk goes on by key.

    Args:
        microphone: makes what the sound comes from, given where to report its troubles.
        choice: the recogniser; it is loaded in the ear's thread once sound comes.
        activity: loads the voice activity detector, likewise.
        presenter: speaks our own lines, to which it is deaf, and knows the language.
        settings: when a sound counts.
    """

    def __init__(
        self,
        microphone: Callable[[Tell], Microphone],
        choice: ChosenEar,
        activity: Callable[[], VoiceActivity],
        presenter: Presenter,
        settings: HearingSettings,
    ) -> None:
        self._microphone = microphone(self._notice)
        self._choice = choice
        self._make_activity = activity
        self._presenter = presenter
        self._settings = settings
        self._inbox: Inbox | None = None
        self._mode, self._largest_end = Mode.WALKING, LARGEST_NUMBER
        self._turn = threading.Event()
        self._thread = threading.Thread(target=self._run, name="ear", daemon=True)
        self._is_closed = False
        self._listener: Listener | None = None
        self._row = NumberRow()
        self._told_at = -TELL_SECONDS
        self._was_early = False
        self._fault = ""
        self._drowned = 0

    @property
    def _vocabulary(self) -> Vocabulary:
        return vocabulary(self._presenter.language, self._mode, self._largest_end)

    def start(self, inbox: Inbox) -> None:
        """Listen in a daemon thread."""
        self._inbox = inbox
        self._thread.start()

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Listen for what fits now; a recording goes on once its last command was taken."""
        self._mode, self._largest_end = mode, largest_end
        self._turn.set()

    def close(self) -> None:
        """Stop listening."""
        self._is_closed = True
        self._microphone.close()
        self._turn.set()
        if self._thread.is_alive():
            self._thread.join(CLOSE_SECONDS)

    def _run(self) -> None:
        try:
            self._listen()
        except CompanionError as error:
            self._notice(notices.ear_lost(str(error)))
        except Exception as error:  # noqa: BLE001 - native code fails as it likes; keys still work
            self._notice(notices.ear_lost(failed(f"{type(error).__name__}: {error}")))
        self._microphone.close()
        self._put(Input("closed", "", "voice"))

    def _listen(self) -> None:
        for block in self._microphone.blocks():
            if self._is_closed:
                return
            if block.pcm16:
                listener = self._listener or self._ready()
                self._hear(listener, block)
        self._end_row()

    def _ready(self) -> Listener:
        """Load everything; what was said meanwhile was not heard in time and is dropped."""
        recogniser = self._choice.make()
        lacks = problems(recogniser, self._presenter.language)
        activity = self._make_activity()
        self._listener = Listener(recogniser, activity, self._vocabulary, self._settings)
        for line in (self._choice.line, *lacks):
            self._notice(line)
        self._microphone.skip()
        return self._listener

    def _hear(self, listener: Listener, block: Block) -> None:
        if block.is_after_gap:
            listener.gap()
        if self._microphone.is_live:
            ours = self._presenter
            listener.hearing.mind_voice(ours.said, is_sounding=ours.is_speaking)
        try:
            listener.expect(self._vocabulary)
        except ModelError as error:  # it listens as before
            self._notice(str(error))
        for report in listener.feed(block.pcm16):
            self._take(report)
        if self._row.is_over(listener.hearing.seconds) and not listener.is_in_sound:
            self._end_row()

    def _take(self, report: Judgement) -> None:
        if isinstance(report, Refused):
            self._refuse(report)
            return
        self._was_early, self._fault = False, ""
        self._drowned = min(self._drowned, 0)
        if report.words not in self._vocabulary.phrases:
            self._row.add(report)
            return
        self._end_row()
        self._command(report.words, asks_back=report.asks_back)

    def _end_row(self) -> None:
        words = self._row.taken()
        if words:
            self._command(words)

    def _command(self, words: str, *, asks_back: bool = False) -> None:
        """Hand a command over; a recording waits until it was taken, as a weaver would."""
        if not self._vocabulary.allows(words):
            return  # a key has led on since the sound began
        self._turn.clear()
        self._put(Input("command", words, "voice", asks_back))
        if not self._microphone.is_live and not self._is_closed:
            self._turn.wait()

    def _mind_room(self, refused: Refused) -> None:
        """Tell once in a walk that the room is too loud, where sound after sound drowns in it."""
        if refused.clear_decibels is None or self._drowned < 0:
            return
        is_drowned = refused.clear_decibels < self._settings.drowned_decibels
        self._drowned = self._drowned + 1 if is_drowned else 0
        if self._drowned == _DROWNED_TOLD:
            self._drowned = -1
            self._notice(LOUD_ROOM)

    def _refuse(self, refused: Refused) -> None:
        self._mind_room(refused)
        if refused.refusal is Refusal.FAILED:
            if self._fault != refused.nearest:
                self._notice(refused.nearest)
            self._fault = refused.nearest
        elif self._row.spoil(refused) or self._is_to_tell(refused):
            self._told_at = refused.end_seconds
            self._put(
                Input("refused", notices.not_taken(refused.refusal, refused.nearest), "voice")
            )

    def _is_to_tell(self, refused: Refused) -> bool:
        """Whether the weaver wants to know; an echo of the telling itself must not be told."""
        was_early, self._was_early = self._was_early, refused.refusal is Refusal.SPEAKING
        is_echo = was_early and self._was_early
        is_soon = refused.start_seconds - self._told_at < TELL_SECONDS
        return refused.is_audible and not is_echo and not is_soon

    def _notice(self, text: str) -> None:
        self._put(Input("notice", text, "voice"))

    def _put(self, given: Input) -> None:
        if self._inbox is not None:
            self._inbox.put(given)
