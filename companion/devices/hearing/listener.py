"""The whole chain from PCM to accepted words, on the sound's own time; no device, no thread."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from companion.base.errors import ModelError
from companion.devices.hearing.hearing import Hearing, Judgement
from companion.devices.hearing.segmenter import Begun, Dropped, Ended
from companion.devices.hearing.settings import FRAME_BYTES, HearingSettings
from companion.devices.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary

if TYPE_CHECKING:
    from companion.devices.recogniser.activity import VoiceActivity

_Result = TypeVar("_Result")
_LEAD_SECONDS = 0.26
"""The detector is sure of a voice only a few frames after it begins; the recogniser gets those."""


def level_dbfs(pcm16: bytes) -> float:
    """Return the root mean square level of a block of 16 bit PCM, in dB below full scale."""
    samples = np.frombuffer(pcm16, dtype="<i2").astype(np.float64) / 32768.0
    return float(20.0 * np.log10(max(float(np.sqrt(np.mean(samples**2))), 1e-5)))


class Listener:
    """Feed it sound; it reports each command accepted and each sound refused.

    `vocabulary` is what it listens for at first; ModelError where the recogniser cannot at all.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        activity: VoiceActivity,
        vocabulary: Vocabulary,
        settings: HearingSettings | None = None,
    ) -> None:
        settings = settings or HearingSettings()
        self._recogniser = recogniser
        self._activity = activity
        self._vocabulary = vocabulary
        self.hearing = Hearing(settings, vocabulary)
        self._lead: deque[bytes] = deque(maxlen=settings.frames(_LEAD_SECONDS))
        self._rest = b""
        self._sound: list[bytes] = []
        self.is_in_sound = False
        """Whether a sound that may be a command is under way."""
        self._failure = ""
        self._new_vocabulary: Vocabulary | None = None
        recogniser.expect(vocabulary)
        self.level_dbfs = -100.0
        """Level of the newest frame, for a meter."""

    def expect(self, vocabulary: Vocabulary) -> None:
        """Listen for these from the next sound on; ModelError, and no change, if it cannot."""
        if vocabulary == self._vocabulary:
            return
        self._vocabulary = vocabulary
        if self.is_in_sound:
            self._new_vocabulary = vocabulary
        else:
            self._turn_to(vocabulary)

    @property
    def sound(self) -> bytes:
        """The sound under way, or the last one, as the recogniser has it."""
        return b"".join(self._sound)

    def gap(self) -> None:
        """Some sound was lost: a word under way is not to be trusted."""
        self._rest = b""
        self._lead.clear()
        self.is_in_sound = False
        self.hearing.break_off()

    def feed(self, pcm16: bytes) -> list[Judgement]:
        """Take any amount of 16 kHz, 16 bit, one channel sound; return what it completed."""
        data = self._rest + pcm16
        whole = len(data) - len(data) % FRAME_BYTES
        self._rest = data[whole:]
        frames = (data[at : at + FRAME_BYTES] for at in range(0, whole, FRAME_BYTES))
        return [report for frame in frames for report in self._frame(frame)]

    def _frame(self, frame: bytes) -> Iterator[Judgement]:
        self.level_dbfs = level_dbfs(frame)
        cut = self.hearing.frame(self._activity(frame), self.level_dbfs)
        if isinstance(cut, Begun):
            self._begin()
        if self.is_in_sound:
            self._sound.append(frame)
            self._try(self._recogniser.feed, frame)
        self._lead.append(frame)
        if isinstance(cut, Dropped):
            self.is_in_sound = False
            yield self.hearing.drop(cut)
        if isinstance(cut, Ended):
            self.is_in_sound = False
            yield self.hearing.judge(cut, self._finish())

    def _begin(self) -> None:
        self._failure = ""
        self.is_in_sound = True
        if self._new_vocabulary is not None:
            self._try(self._turn_to, self._new_vocabulary)
        self._try(self._recogniser.begin)
        self._sound = [*self._lead]
        self._try(self._recogniser.feed, self.sound)

    def _turn_to(self, vocabulary: Vocabulary) -> None:
        self._new_vocabulary = None
        self._recogniser.expect(vocabulary)
        self.hearing.expect(vocabulary)

    def _finish(self) -> Heard:
        heard = None if self._failure else self._try(self._recogniser.finish, self.sound)
        return heard or Heard("", Refusal.FAILED, self._failure)

    def _try(self, act: Callable[..., _Result], *given: object) -> _Result | None:
        """Call the recogniser; if it breaks down this sound is lost, and the walk goes on."""
        try:
            return act(*given)
        except ModelError as error:
            self._failure = str(error)
            return None
