"""What happens to a voice on its way to the microphone: noise, babble, a room, a level."""

from __future__ import annotations

import numpy as np

RATE = 16_000
SPEECH_DBFS = -26.0
"""Level of the speech itself: the active level recommended for test signals by ITU-T P.56/P.830
practice (from memory)."""


def level(sound: np.ndarray) -> float:
    """Return the root mean square level of a sound in dBFS."""
    return float(20 * np.log10(max(float(np.sqrt(np.mean(np.square(sound)))), 1e-9)))


def at_level(sound: np.ndarray, dbfs: float) -> np.ndarray:
    """Return the sound scaled to a root mean square level."""
    return np.asarray(sound * 10 ** ((dbfs - level(sound)) / 20), dtype=np.float32)


def white(samples: int, random: np.random.Generator) -> np.ndarray:
    """White noise."""
    return random.standard_normal(samples).astype(np.float32)


def babble(samples: int, talk: list[np.ndarray], random: np.random.Generator) -> np.ndarray:
    """Six voices at once, each running through random pieces of `talk`."""
    total = np.zeros(samples, np.float32)
    for _ in range(6):
        pieces: list[np.ndarray] = []
        while sum(map(len, pieces)) < samples:
            pieces.append(at_level(talk[random.integers(len(talk))], -26.0))
        total += np.concatenate(pieces)[:samples]
    return total


def in_room(sound: np.ndarray, seconds: float, random: np.random.Generator) -> np.ndarray:
    """Add reverberation: noise decaying by 60 dB in `seconds`, the direct sound 6 dB above it."""
    count = int(seconds * RATE)
    tail = random.standard_normal(count) * 10 ** (-3 * np.arange(count) / count)
    tail[: RATE // 200] = 0
    tail *= 0.5 / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    size = len(sound) + count
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)
    return np.asarray(wet, dtype=np.float32)


def pcm16(sound: np.ndarray) -> bytes:
    """Return a float sound as 16 bit PCM, clipped."""
    return bytes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
