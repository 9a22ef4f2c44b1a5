"""A stretch of sound as a value.

numpy is imported where it is needed and not above: without it the first word of a walk comes
sooner by some 70 ms, and speech at its usual rate needs none of it.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable
from typing import TYPE_CHECKING

from companion.base.value import Value

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLE_BYTES = 2
FULL_SCALE = 32767
LEAD_SECONDS, TRAIL_SECONDS = 0.01, 0.03
"""Silence left around a clip that is trimmed."""
QUIET = 100
"""Samples at or under this size (of 32767) are silence to the ear; -50 dB."""


class Clip(Value):
    """Mono sound: signed 16-bit little-endian samples, `rate` of them a second."""

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
    def samples(self) -> NDArray[np.int16]:
        """The samples as a read-only int16 array of shape (frames,)."""
        import numpy as np  # noqa: PLC0415 - see above

        return np.frombuffer(self.pcm, dtype="<i2")

    @property
    def peak(self) -> int:
        """The largest sample, 0 to 32768; 0 for an empty clip."""
        samples = memoryview(self.pcm).cast("h")
        return max(*samples, -min(samples)) if self.pcm else 0


def silence(seconds: float, rate: int) -> Clip:
    """Return digital silence."""
    return Clip(bytes(SAMPLE_BYTES * round(seconds * rate)), rate)


def from_waveform(waveform: Iterable[float], rate: int) -> Clip:
    """Return samples of -1.0 to 1.0 as a clip; what lies beyond is limited."""
    limited = (round(FULL_SCALE * min(1.0, max(-1.0, value))) for value in waveform)
    return Clip(array("h", limited).tobytes(), rate)


def from_samples(samples: NDArray[np.floating], rate: int) -> Clip:
    """Return an array of samples of -1.0 to 1.0, of shape (frames,), as a clip."""
    import numpy as np  # noqa: PLC0415 - see above

    limited = np.clip(np.round(FULL_SCALE * samples), -FULL_SCALE, FULL_SCALE)
    return Clip(limited.astype("<i2").tobytes(), rate)


def mono(pcm16: bytes, channels: int) -> bytes:
    """Return the mean of interleaved channels; half a frame at the end is left out."""
    frame_bytes = channels * SAMPLE_BYTES
    whole = pcm16[: len(pcm16) // frame_bytes * frame_bytes]
    if channels == 1:
        return whole
    import numpy as np  # noqa: PLC0415 - see above

    mixed = np.frombuffer(whole, dtype="<i2").reshape(-1, channels).mean(axis=1)
    return bytes(np.round(mixed).astype("<i2").tobytes())


def resampled(clip: Clip, rate: int) -> Clip:
    """Return the clip at another rate, band-limited.

    The whole clip goes through one Fourier transform, which is exact for a clip that begins and
    ends in silence, as speech and tones do.
    """
    if clip.rate == rate or not clip.pcm:
        return Clip(clip.pcm, rate)
    import numpy as np  # noqa: PLC0415 - see above

    frames = max(1, round(clip.frames * rate / clip.rate))
    spectrum = np.fft.rfft(clip.samples.astype(np.float64))
    waveform = np.fft.irfft(spectrum[: frames // 2 + 1], frames) * (frames / clip.frames)
    return from_samples(waveform / FULL_SCALE, rate)


def trimmed(clip: Clip) -> Clip:
    """Return the clip with hardly any silence before its first and after its last sound."""
    samples = memoryview(clip.pcm).cast("h")
    frames = range(clip.frames)
    first = next((at for at in frames if abs(samples[at]) > QUIET), None)
    if first is None:
        return Clip(b"", clip.rate)
    last = next(at for at in reversed(frames) if abs(samples[at]) > QUIET)
    start = max(0, first - round(LEAD_SECONDS * clip.rate))
    end = last + 1 + round(TRAIL_SECONDS * clip.rate)
    return Clip(clip.pcm[SAMPLE_BYTES * start : SAMPLE_BYTES * end], clip.rate)
