"""Recordings of spoken commands, made with espeak-ng, as a weaver would leave them."""

from __future__ import annotations

import subprocess
import wave
from typing import TYPE_CHECKING

import numpy as np
from vosk_korean import Voice, say

from companion.devices.recogniser.interface import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

Spoken = tuple[str, Voice]
PAUSE_SECONDS = 1.0


def record(path: Path, spoken: Sequence[Spoken], pause_seconds: float = PAUSE_SECONDS) -> Path:
    """Write what espeak-ng speaks, a pause after each, in a quiet room."""
    return record_sounds(path, [say(text, voice) for text, voice in spoken], pause_seconds)


def record_sounds(
    path: Path, sounds: Sequence[bytes], pause_seconds: float = PAUSE_SECONDS
) -> Path:
    """Write sounds of 16 bit samples, a pause after each, in a quiet room."""
    hiss = np.random.default_rng(2)

    def room(seconds: float) -> np.ndarray:
        return hiss.normal(0, 8, round(seconds * SAMPLE_RATE))

    parts = [room(1.0)]
    for sound in sounds:
        parts += [np.frombuffer(sound, "<i2"), room(pause_seconds)]
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE)
        file.writeframes(np.concatenate(parts).astype("<i2").tobytes())
    return path


def spoken_by_flite(words: str, folder: Path, voice: str = "slt") -> bytes:
    """Return words in one of flite's voices, a quarter of a second of silence round them."""
    file = folder / "said.wav"
    command = ["flite", "-voice", voice, "-t", words, "-o", str(file)]
    subprocess.run(command, check=True, timeout=60)
    with wave.open(str(file)) as sound:
        assert sound.getframerate() == SAMPLE_RATE
        return bytes(8000) + bytes(sound.readframes(sound.getnframes())) + bytes(8000)
