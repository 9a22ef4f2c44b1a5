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


def knock(random: np.random.Generator) -> np.ndarray:
    """A shuttle, a beater or a dropped tool: one to three short dull strokes on wood."""
    sound = np.zeros(RATE, np.float32)
    for _ in range(random.integers(1, 4)):
        count = round(random.uniform(0.03, 0.15) * RATE)
        times = np.arange(count) / RATE
        tone = np.sin(2 * np.pi * random.uniform(80, 900) * times)
        stroke = (0.6 * tone + 0.4 * random.standard_normal(count)) * np.exp(-times * 60)
        at = random.integers(0, RATE - count)
        sound[at : at + count] += (stroke * random.uniform(0.3, 1.0)).astype(np.float32)
    return sound + white(RATE, random) * np.float32(1e-3)


def knocks(samples: int, random: np.random.Generator) -> np.ndarray:
    """A loom at work beside: a stroke or several every second or so."""
    made = [knock(random) for _ in range(-(-samples // RATE))]
    return np.concatenate(made)[:samples]


def music(samples: int, random: np.random.Generator) -> np.ndarray:
    """A tune over chords, made of tones with overtones, two notes a second."""
    total, note = np.zeros(samples + RATE, np.float32), RATE // 2
    for at in range(0, samples, note):
        root = 110 * 2 ** (random.integers(0, 12) / 12)
        for step in (0, 4, 7, 12 + random.integers(0, 12)):
            times = np.arange(note) / RATE
            hertz = root * 2 ** (step / 12)
            parts = [np.sin(2 * np.pi * hertz * k * times) / k for k in (1, 2, 3, 4)]
            total[at : at + note] += (sum(parts) * np.exp(-times * 3)).astype(np.float32)
    return total[:samples]


def pcm16(sound: np.ndarray) -> bytes:
    """Return a float sound as 16 bit PCM, clipped."""
    return bytes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
