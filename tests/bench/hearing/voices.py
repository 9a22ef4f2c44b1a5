"""Synthetic speakers from three free engines, and recorded people: sound for the measurements.

Everything comes from packages: flite, festival (festvox-kallpc16k, festvox-us-slt-hts) and
espeak-ng. What is spoken is kept in a cache folder under the system's temporary one.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import lent
import neural
import numpy as np
import soxr
import whole

RATE, CACHE = neural.RATE, neural.CACHE


_LENT_SILENCE = 20.0
"""How far below the loudest is what festival's voices for Italian and Catalan breathe, in dB."""

Engine = Callable[["Voice", str], np.ndarray]
"""What makes a voice's sound of a text."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One synthetic speaker."""

    engine: str
    name: str
    speed: float = 1.0
    """Length of a word relative to the engine's usual: 1.2 is slower."""
    pitch: float = 1.0

    def __str__(self) -> str:
        return f"{self.engine}:{self.name}"

    def varied(self, speed: float, pitch: float = 1.0) -> Voice:
        """Return the same speaker talking at another speed and pitch."""
        return Voice(self.engine, self.name, speed, pitch)


VOICES = (
    *(Voice("flite", name) for name in ("awb", "kal16", "rms", "slt")),
    Voice("festival", "kal_diphone"),
    Voice("festival", "cmu_us_slt_arctic_hts"),
    *(
        Voice("espeak-ng", name)
        for name in ("en-us+m3", "en-us+f2", "en-gb", "en-gb+f4", "en-gb-scotland", "en-029+m7")
    ),
)


def speak(voice: Voice, text: str) -> np.ndarray:
    """Return `text` spoken by `voice`: float32 at 16 kHz, trimmed of silence at both ends."""
    key = hashlib.sha256(repr((voice, text)).encode()).hexdigest()[:24]
    kept = CACHE / "spoken" / f"{key}.npy"
    return whole.array(kept, lambda: trim(_ENGINES[voice.engine](voice, text)))


def trim(sound: np.ndarray, below_peak_decibels: float = 40.0) -> np.ndarray:
    """Cut off what lies before and after the sound: 10 ms blocks 40 dB below the loudest."""
    block = RATE // 100
    count = len(sound) // block
    levels = np.sqrt(np.mean(sound[: count * block].reshape(count, block) ** 2, axis=1))
    loud = np.flatnonzero(levels > levels.max() * 10 ** (-below_peak_decibels / 20))
    return sound[loud[0] * block : (loud[-1] + 1) * block].astype(np.float32)


def read_wav(path: Path) -> np.ndarray:
    """Read a WAV file as float32 at 16 kHz, one channel."""
    with wave.open(str(path)) as file:
        width, rate, channels = file.getsampwidth(), file.getframerate(), file.getnchannels()
        data = file.readframes(file.getnframes())
    if width != 2:
        message = f"{path}: expected 16 bit samples, found {8 * width}"
        raise ValueError(message)
    sound = np.frombuffer(data, "<i2").astype(np.float32).reshape(-1, channels).mean(1) / 32768
    return np.asarray(soxr.resample(sound, rate, RATE)) if rate != RATE else sound


def _flite(voice: Voice, text: str) -> np.ndarray:
    options = ["--setf", f"duration_stretch={voice.speed}"]
    if voice.pitch != 1.0:
        mean = {"slt": 165, "awb": 130, "rms": 100, "kal16": 105}[voice.name] * voice.pitch
        options += ["--setf", f"int_f0_target_mean={mean:.0f}"]
    return _made(["flite", "-voice", voice.name, *options, "-t", text, "-o", "{out}"])


def _espeak(voice: Voice, text: str) -> np.ndarray:
    speed = round(160 / voice.speed)
    pitch = round(50 * voice.pitch)
    return _made(
        ["espeak-ng", "-v", voice.name, "-s", f"{speed}", "-p", f"{pitch}", "-w", "{out}", text]
    )


def _festival(voice: Voice, text: str) -> np.ndarray:
    language, _, name = voice.name.rpartition(":")
    if language == "es":
        name, _, size = name.partition("*")
        larger = float(size or 1)
        made = _made(["festival", "--batch", lent.program(name, text, voice.speed / larger)])
        return np.asarray(soxr.resample(trim(made, _LENT_SILENCE), RATE, RATE * larger))
    program = (
        f"(begin (voice_{voice.name}) (Parameter.set 'Duration_Stretch {voice.speed}) "
        f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{{out}}" \'riff))'
    )
    return _made(["festival", "--batch", program])


def _made(command: list[str]) -> np.ndarray:
    if shutil.which(command[0]) is None:
        message = f"{command[0]} is not installed: apt-get install {command[0]}"
        raise RuntimeError(message)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.wav"
        filled = [part.replace("{out}", str(out)) for part in command]
        subprocess.run(filled, check=True, capture_output=True, timeout=60)
        return read_wav(out)


_ENGINES: dict[str, Engine] = {
    "flite": _flite,
    "espeak-ng": _espeak,
    "festival": _festival,
    "kokoro": lambda voice, text: neural.kokoro(voice.name, text, voice.speed),
    "hibari": lambda voice, text: neural.hibari(voice.name, text, voice.speed),
    "joe": lambda voice, text: neural.joe(text, voice.speed),
}
