"""The queue of sound between the voice and the loudspeaker's callback."""

import threading
import time
from array import array
from collections import deque

from companion.devices.audio.backoff import Clock
from companion.devices.audio.clip import SAMPLE_BYTES, Clip, resampled

RATE = 22050
"""Samples per second asked of the loudspeaker; espeak-ng's own, so that nothing is resampled."""
MAX_DRY = 5
"""Running dry more often than this within one stretch of sound is a stutter."""
FADE_SECONDS = 0.005
"""A cut sound falls away over this, so that it does not click."""


class SampleFeed:
    """The sound still to be taken by the loudspeaker; any thread may add, cut and take."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._sounds: deque[bytes] = deque()
        self._taken = 0
        """Bytes of the first sound that are gone."""
        self._silent_at = clock()
        self._latency_seconds = 0.0
        self.rate = RATE
        """Samples per second that the loudspeaker takes."""
        self.taken_at = clock()
        """When the loudspeaker last took anything, sound or silence."""
        self._dry = 0
        """How often it ran dry since it last was silent."""
        self.is_stuttering = False
        """Whether it ran dry too often within one stretch of sound; for the owner to clear."""

    @property
    def has_sound(self) -> bool:
        """Whether there is something to take."""
        return bool(self._sounds)

    @property
    def silent_seconds(self) -> float:
        """How long it has been silent at the ear; negative while sound is on its way."""
        with self._lock:
            return -1.0 if self._sounds else self._clock() - self._silent_at

    def serve(self, rate: int, latency_seconds: float) -> None:
        """Fit what is queued, and will be, to a loudspeaker's rate and its delay to the ear."""
        with self._lock:
            if self._sounds:
                self._sounds[0] = self._sounds[0][self._taken :]
            self._taken = 0
            sounds = (resampled(Clip(sound, self.rate), rate).pcm for sound in self._sounds)
            self._sounds = deque(sounds)
            self.rate, self._latency_seconds = rate, latency_seconds

    def add(self, clip: Clip) -> None:
        """Put a clip at the end."""
        pcm = resampled(clip, self.rate).pcm
        if pcm:
            with self._lock:
                self._sounds.append(pcm)

    def take(self, frames: int, underflows: int = 0) -> bytes:
        """Return the next frames, silence where there are none. Runs in the audio callback.

        `underflows` is how often the loudspeaker had nothing to play since the last time.
        """
        parts, missing = [], frames * SAMPLE_BYTES
        with self._lock:
            self._dry = self._dry + underflows if self._sounds else 0
            self.is_stuttering |= self._dry > MAX_DRY
            self.taken_at = self._clock()
            while missing and self._sounds:
                part = self._sounds[0][self._taken : self._taken + missing]
                parts.append(part)
                missing -= len(part)
                self._taken += len(part)
                if self._taken >= len(self._sounds[0]):
                    self._sounds.popleft()
                    self._taken = 0
            if parts:
                sounding = (frames - missing // SAMPLE_BYTES) / self.rate
                self._silent_at = self.taken_at + self._latency_seconds + sounding
        parts.append(bytes(missing))
        return b"".join(parts)

    def cut(self) -> None:
        """Drop everything but a short fall of the sound being taken."""
        frames = round(FADE_SECONDS * self.rate)
        with self._lock:
            is_sounding = self._taken > 0
            rest = self._sounds[0][self._taken :] if is_sounding else b""
            self._sounds.clear()
            self._taken = 0
            if rest:
                self._sounds.append(_falling(rest[: frames * SAMPLE_BYTES]))

    def clear(self) -> None:
        """Drop everything: nobody is there to take it."""
        with self._lock:
            self._sounds.clear()
            self._taken = 0
            self._silent_at = self._clock()


def _falling(pcm: bytes) -> bytes:
    samples = memoryview(pcm).cast("h")
    last = max(1, len(samples) - 1)
    fall = (sample * (last - at) // last for at, sample in enumerate(samples))
    return array("h", fall).tobytes()
