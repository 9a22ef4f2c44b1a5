# ruff: noqa: RUF001 - sounds are written in their own signs
"""A natural English voice: the network in the package hibari-tts, which holds its one voice.

The package would download its other voices when asked for them; it is never asked, and given the
file of its own voice by name. The same text gives the same sound, to the last sample.
"""

from __future__ import annotations

import importlib.util
import re
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from companion.devices.audio import wav
from companion.devices.audio.clip import from_samples, resampled
from companion.devices.engines.release import release
from companion.devices.engines.stretch import stretched

if TYPE_CHECKING:
    from collections.abc import Callable

PACKAGE, DISTRIBUTION = "hibari", "hibari_tts"
REVISION = 2
"""Part of the name: another number where the same text would sound otherwise."""
CLIP_RATE = 22050
"""Samples per second of the file: the loudspeaker's, so that nothing is resampled later."""
GAIN = 1.3
"""Makes it as loud as espeak-ng."""
SEED = 0
SPEEDS = (
    (80, 0.43),
    (160, 0.84),
    (220, 1.18),
    (300, 1.67),
    (350, 2.08),
    (400, 2.42),
    (450, 2.5),
)
"""Words a minute, and how much faster than the network speaks a callout must be said to take as
long as by espeak-ng, whose own words a minute are words a minute up to some 260."""

SAID = {"wind": "wˈInd", "wound": "wˈWnd", "epi": "ˌipˌiˈI"}
"""Words that it reads as other ones (the air, a cut), as a weaver says them: in the package's own
signs and its own way of giving them."""


def spelled(text: str) -> str:
    """Return a text with the sounds of some words beside them."""
    words = "|".join(SAID)
    return re.sub(
        rf"(?i)\b({words})\b", lambda word: f"[{word[0]}](/{SAID[word[0].lower()]}/)", text
    )


class NaturalEngine:
    """The network, loaded when it is first needed.

    Raises:
        ModuleNotFoundError: the package is not installed.
    """

    def __init__(self) -> None:
        found = importlib.util.find_spec(PACKAGE)
        if found is None or found.origin is None:
            raise ModuleNotFoundError(
                "the package hibari-tts is not installed; get it by pip install hibari-tts"
            )
        self._folder = Path(found.origin).parent

    @property
    def name(self) -> str:
        """The package's release and the revision of what is done with its sound."""
        return f"natural {REVISION} {release(self._folder, DISTRIBUTION)}"

    @cached_property
    def _network(self) -> Any:
        from hibari import Hibari  # noqa: PLC0415 - loads for a while
        from hibari.voices import DEFAULT, voice_path  # noqa: PLC0415

        return Hibari(model=voice_path(DEFAULT, download_missing=False))

    def load(self) -> None:
        """Load the network and what spells words for it."""
        self._network("one")

    def save(self, text: str, rate: int, voice: str, path: Path, tell: Callable[[], None]) -> None:
        """Write the text as speech to a file; it has one voice, which has no name."""
        if voice:
            raise LookupError(voice)
        speed = float(np.interp(rate, *np.array(SPEEDS).T))
        sound = stretched(self._network(spelled(text), seed=SEED), self._network.sample_rate, speed)
        clip = resampled(from_samples(GAIN * sound, self._network.sample_rate), CLIP_RATE)
        writer = wav.WavWriter(path, CLIP_RATE)
        writer.write(clip)
        writer.close()
        tell()
