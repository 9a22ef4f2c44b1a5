"""A teaching session: the weaver says each word a few times, and hears at once what will not do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.devices.audio.tones import ToneName
from companion.devices.hearing.hearing import Refused
from companion.devices.hearing.listener import Listener
from companion.devices.recogniser.interface import SAMPLE_RATE, Refusal, Vocabulary
from companion.devices.recogniser.teaching import TakeRecorder, Teaching, Verdict
from companion.session.listening import Asking
from companion.wording import hearing as wording

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from companion.devices.audio.microphone import Microphone
    from companion.devices.hearing.hearing import Report
    from companion.devices.recogniser.activity import VoiceActivity
    from companion.devices.recogniser.embedding import Embedder
    from companion.devices.speech import Voice

ROOM_SECONDS = 20.0
"""How much of the room and of ordinary talk is recorded, to tell the words from."""
_SAMPLE_BYTES = 2


class LessonSitting(Asking):
    """Takes the recordings of words, one after another."""

    def __init__(
        self,
        microphone: Microphone,
        activity: VoiceActivity,
        voice: Voice,
        tell: Callable[[str], None],
    ) -> None:
        self._recorder = TakeRecorder()
        listener = Listener(self._recorder, activity, Vocabulary(frozenset()))
        super().__init__(microphone, listener, voice, tell)

    def teach(
        self,
        words: Sequence[str],
        takes: int,
        embedder: Embedder,
        keep: Callable[[str, tuple[bytes, ...]], None],
    ) -> tuple[str, ...]:
        """Take the recordings, `keep` each word once its are there, and return the unfinished."""
        teaching = Teaching(words, takes, embedder)
        self._ask(teaching)
        for block in self._blocks:
            for report in self._heard(block):
                word = teaching.word
                self._judge(teaching, report)
                if teaching.word != word:
                    keep(word, tuple(teaching.takes[word]))
                    self._ask(teaching)
            if not teaching.word:
                return ()
        return tuple(words[words.index(teaching.word) :])

    def room(self) -> bytes:
        """Return the sound of the room and of ordinary talk: 16 kHz, 16 bit, one channel."""
        self._prompt(wording.talk_freely(ROOM_SECONDS))
        taken = b""
        for block in self._blocks:
            if not self._voice.is_speaking:
                taken += block.pcm16
            if len(taken) >= ROOM_SECONDS * SAMPLE_RATE * _SAMPLE_BYTES:
                break
        return taken

    def close(self) -> None:
        """Let the microphone go."""
        self._microphone.close()
        for _ in self._blocks:
            pass  # a closed microphone ends here, and gives the device back

    def _judge(self, teaching: Teaching, report: Report) -> None:
        taken = self._recorder.take()
        if not isinstance(report, Refused):
            return
        if report.refusal is not Refusal.UNKNOWN:
            if report.refusal is not Refusal.SPEAKING:
                self._again(wording.say_again(report.refusal))
            return
        word, number = teaching.word, len(teaching.takes.get(teaching.word, ())) + 1
        take = teaching.add(taken)
        if take.verdict is Verdict.KEPT:
            self._tell(f"Kept: {word}, {number}.")
            self._voice.play([ToneName.CONFIRM])
        else:
            self._again(wording.say_again(take.verdict, take.other))

    def _ask(self, teaching: Teaching) -> None:
        if teaching.word:
            self._prompt(wording.say_word(teaching.word, teaching.takes_left))

    def _again(self, line: str) -> None:
        self._tell(line)
        self._voice.play([ToneName.REFUSE, line])
