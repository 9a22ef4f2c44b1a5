"""The whole chain from PCM to accepted words: detector, hearing, recogniser.

Works on the sound's own time, so that a recording is heard exactly as a microphone is, only
faster. It owns no device and no thread.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from companion.errors import ModelError
from companion.hearing.hearing import Hearing, Report
from companion.hearing.segmenter import Begun, Dropped, Ended
from companion.hearing.settings import FRAME_SAMPLES, HearingSettings
from companion.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.recogniser.activity import VoiceActivity

_FRAME_BYTES = FRAME_SAMPLES * 2
_LEAD_SECONDS = 0.26
"""The detector is sure of a voice only a few frames after it begins; the recogniser gets those."""


def level_dbfs(pcm16: bytes) -> float:
    """Return the root mean square level of a block of 16 bit PCM, in dB below full scale."""
    samples = np.frombuffer(pcm16, dtype="<i2").astype(np.float64) / 32768.0
    return float(20.0 * np.log10(max(float(np.sqrt(np.mean(samples**2))), 1e-5)))


class Listener:
    """Feed it sound; it reports each command accepted and each sound refused.

    Args:
        recogniser: what turns an isolated sound into words.
        activity: the voice activity detector.
        vocabulary: the spoken forms to listen for at first.
        settings: the figures of hearing.
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
        self._is_feeding = False
        self._new_vocabulary: Vocabulary | None = vocabulary
        self.level_dbfs = -100.0
        """Level of the newest frame, for a meter."""

    def expect(self, vocabulary: Vocabulary) -> None:
        """Listen for these spoken forms, from the next sound on."""
        if vocabulary != self._vocabulary:
            self._vocabulary = vocabulary
            self._new_vocabulary = vocabulary

    def voice_started(self) -> None:
        """Our own voice has begun to sound."""
        self.hearing.voice_started()

    def voice_ended(self) -> None:
        """Our own voice has stopped sounding."""
        self.hearing.voice_ended()

    @property
    def is_in_sound(self) -> bool:
        """Whether a sound that may be a command is under way."""
        return self._is_feeding

    def gap(self) -> None:
        """Some sound was lost: a word under way is not to be trusted."""
        self._rest = b""
        self._lead.clear()
        self._is_feeding = False
        self.hearing.break_off()

    def feed(self, pcm16: bytes) -> list[Report]:
        """Take any amount of 16 kHz, 16 bit, one channel sound; return what it completed."""
        data = self._rest + pcm16
        whole = len(data) - len(data) % _FRAME_BYTES
        self._rest = data[whole:]
        frames = (data[at : at + _FRAME_BYTES] for at in range(0, whole, _FRAME_BYTES))
        return [report for frame in frames for report in self._frame(frame)]

    def _frame(self, frame: bytes) -> Iterator[Report]:
        self.level_dbfs = level_dbfs(frame)
        cut = self.hearing.frame(self._activity.probability(frame), self.level_dbfs)
        if isinstance(cut, Begun):
            self._begin()
        if self._is_feeding:
            self._recogniser.feed(frame)
        self._lead.append(frame)
        if isinstance(cut, Dropped):
            self._is_feeding = False
            yield self.hearing.drop(cut)
        if isinstance(cut, Ended):
            self._is_feeding = False
            yield self._finish(cut)

    def _begin(self) -> None:
        if self._new_vocabulary is not None:
            self._recogniser.expect(self._new_vocabulary)
            self.hearing.expect(self._new_vocabulary)
            self._new_vocabulary = None
        self._recogniser.begin()
        self._recogniser.feed(b"".join(self._lead))
        self._is_feeding = True

    def _finish(self, sound: Ended) -> Report:
        try:
            heard = self._recogniser.finish()
        except ModelError as error:
            heard = Heard("", refusal=Refusal.FAILED, nearest=str(error))
        return self.hearing.judge(sound, heard)
