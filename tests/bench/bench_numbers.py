"""Measure which voice's numbers are told apart: `python tests/bench/bench_numbers.py [NUMBERS]`.

Both voices say "dent 1" to "dent 99" at three speeds, as a walk makes them; two machine listeners
(see `listeners.py`) choose which of the 99 it was, in quiet and in white noise. NUMBERS is how
they are said: words (the usual), both ("fifty, five zero" where that is in question) or digits.

Then, for each voice and speed, the numbers that `companion.wording.mistaken` keeps: those that the
phonemes took for another in quiet, and those that both listeners did, in quiet or at 20 dB.
The last table names what each number was taken for.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY)]

import numpy as np  # noqa: E402 reads the number of threads
import soxr  # noqa: E402 as above
from listeners import RATE, GrammarListener, PhonemeListener, in_noise  # noqa: E402 needs the path

from companion.devices.audio.clip import FULL_SCALE  # noqa: E402 needs the path
from companion.devices.speech.make import make_clips  # noqa: E402 needs the path
from companion.wording.voice import Style, speak  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Mapping

    from listeners import Listener, Sound

    from companion.settings.schema import Engine, Numbers

    Case = tuple[str, int, str, int]
    """Voice, words a minute, listener, and decibels of the noise below the speech."""

VOICES: tuple[tuple[str, Engine, str], ...] = (
    ("natural", "natural", ""),
    ("en", "system", ""),
    ("en-us", "system", "en-us"),
)
SPEEDS = (160, 220, 300)
NOISES = (60, 20, 10)
"""Decibels of the noise below the speech; 60 is quiet."""
NUMBERS: dict[str, Numbers] = {"words": "words", "both": "both", "digits": "digits"}


def sounds(engine: Engine, voice: str, speed: int, texts: Mapping[int, str]) -> dict[int, Sound]:
    """Return each text as the voice says it, at the listeners' rate."""
    with tempfile.TemporaryDirectory() as folder:
        clips = make_clips(engine, voice, print, Path(folder))
        try:
            made = {key: clips.clip(text, speed) for key, text in texts.items()}
        finally:
            clips.close()
    return {
        key: soxr.resample(clip.samples / FULL_SCALE, clip.rate, RATE) for key, clip in made.items()
    }


def heard(listener: Listener, said: Mapping[int, Sound], decibels: float) -> dict[int, int]:
    """Return what the listener took for something else, and for what."""
    taken = {key: listener.hear(in_noise(sound, decibels, key)) for key, sound in said.items()}
    return {key: other for key, other in taken.items() if other != key}


def mistaken(lost: Mapping[Case, Mapping[int, int]], name: str, speed: int) -> list[int]:
    """Return the numbers that a voice makes sound like others; none that was just not heard."""
    quiet, noise = NOISES[:2]

    def taken(listener: str, *noises: int) -> set[int]:
        each = (lost[name, speed, listener, noise] for noise in noises)
        return {key for found in each for key, other in found.items() if other}

    by_both = taken("phonemes", quiet, noise) & taken("grammar", quiet, noise)
    return sorted(taken("phonemes", quiet) | by_both)


def main() -> None:
    """Print both tables."""
    numbers = NUMBERS[sys.argv[1] if len(sys.argv) > 1 else "words"]
    print(f"right of 99; {time.strftime('%F')}, load {os.getloadavg()[0]:.1f}")
    print("voice          words/min  seconds  listener  " + "  ".join(f"{n:2} dB" for n in NOISES))
    lost: dict[Case, dict[int, int]] = {}
    for name, engine, voice in VOICES:
        for speed in SPEEDS:
            style = Style(numbers, voice=name, words_per_minute=speed)
            texts = {number: speak(f"dent {number}", style).rstrip(",") for number in range(1, 100)}
            listeners: tuple[Listener, ...] = (PhonemeListener(texts), GrammarListener(texts))
            said = sounds(engine, voice, speed, texts)
            seconds = np.mean([len(sound) for sound in said.values()]) / RATE
            for listener in listeners:
                wrong = [heard(listener, said, noise) for noise in NOISES]
                right = "  ".join(f"{len(texts) - len(each):5}" for each in wrong)
                print(
                    f"{name:14} {speed:9}  {seconds:7.2f}  {listener.name:8}  {right}", flush=True
                )
                for noise, each in zip(NOISES[:2], wrong, strict=False):
                    lost[name, speed, listener.name, noise] = each
            print(f"{name}, {speed}: {' '.join(map(str, mistaken(lost, name, speed)))}", flush=True)
    for (name, speed, by, noise), each in lost.items():
        pairs = ", ".join(f"{key} as {other}" for key, other in each.items())
        print(f"{name}, {speed}, {by}, {noise} dB: {pairs or 'none'}")


if __name__ == "__main__":
    main()
