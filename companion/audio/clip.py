"""A stretch of sound as a value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SAMPLE_BYTES = 2
FULL_SCALE = 32767
QUIET = 100
"""Samples at or under this size (of 32767) are silence to the ear; -50 dB."""

Samples = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Clip:
    """Mono sound, ready for the loudspeaker.

    Args:
        pcm: signed 16-bit little-endian samples.
        rate: samples per second.
    """

    pcm: bytes
    rate: int

    @property
    def frames(self) -> int:
        """How many samples it holds."""
        return len(self.pcm) // SAMPLE_BYTES

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.frames / self.rate

    @property
    def samples(self) -> Samples:
        """The samples as a read-only int16 array of shape (frames,)."""
        return np.frombuffer(self.pcm, dtype="<i2")

    @property
    def peak(self) -> int:
        """The largest sample, 0 to 32768; 0 for an empty clip."""
        return int(np.abs(self.samples.astype(np.int32)).max(initial=0))


def silence(seconds: float, rate: int) -> Clip:
    """Return digital silence."""
    return Clip(bytes(SAMPLE_BYTES * round(seconds * rate)), rate)


def from_waveform(waveform: NDArray[np.float64], rate: int) -> Clip:
    """Return samples of -1.0 to 1.0 as a clip; what lies beyond is limited."""
    limited = np.clip(waveform, -1.0, 1.0) * FULL_SCALE
    return Clip(np.round(limited).astype("<i2").tobytes(), rate)


def resampled(clip: Clip, rate: int) -> Clip:
    """Return the clip at another rate, band-limited.

    The whole clip goes through one Fourier transform, which is exact for a clip that begins and
    ends in silence, as speech and tones do.
    """
    if clip.rate == rate or not clip.pcm:
        return Clip(clip.pcm, rate)
    frames = max(1, round(clip.frames * rate / clip.rate))
    spectrum = np.fft.rfft(clip.samples / FULL_SCALE)
    waveform = np.fft.irfft(spectrum[: frames // 2 + 1], frames) * (frames / clip.frames)
    return from_waveform(waveform, rate)


def trimmed(clip: Clip, *, lead_seconds: float = 0.01, trail_seconds: float = 0.03) -> Clip:
    """Return the clip with at most so much silence before its first and after its last sound."""
    loud = np.flatnonzero(np.abs(clip.samples.astype(np.int32)) > QUIET)
    if not len(loud):
        return Clip(b"", clip.rate)
    first = max(0, int(loud[0]) - round(lead_seconds * clip.rate))
    last = int(loud[-1]) + 1 + round(trail_seconds * clip.rate)
    return Clip(clip.pcm[SAMPLE_BYTES * first : SAMPLE_BYTES * last], clip.rate)
