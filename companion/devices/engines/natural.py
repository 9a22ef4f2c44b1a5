# ruff: noqa: RUF001 - sounds are written in their own signs
"""A natural English voice: the network in the package hibari-tts, which holds its one voice.

The package would download its other voices when asked for them; it is never asked, and given the
file of its own voice by name. The same text gives the same sound, to the last sample.
"""

from __future__ import annotations

import importlib.util
import re
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.devices.audio import wav
from companion.devices.audio.clip import Clip, from_samples, resampled
from companion.devices.engines.system import release

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PACKAGE, DISTRIBUTION = "hibari", "hibari_tts"
REVISION = 3
"""Part of the name: another number where the same text would sound otherwise."""
CLIP_RATE = 22050
"""Samples per second of the file: the loudspeaker's, so that nothing is resampled later."""
GAIN = 1.3
"""Makes it as loud as espeak-ng."""
SEED = 0
SILENT = 0.003
"""Samples under this size, of 1, are silence."""
LEAD_SECONDS, TRAIL_SECONDS = 0.1, 0.2
"""Silence left around a sentence, where the network has some 0.7 s between two."""
SPEEDS = (
    (80, 0.415),
    (120, 0.6),
    (160, 0.81),
    (220, 1.145),
    (300, 1.62),
    (350, 2.01),
    (400, 2.34),
    (450, 2.42),
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
    """The network, loaded when it is first needed; ModuleNotFoundError without the package."""

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
        writer = wav.WavWriter(path, CLIP_RATE)
        writer.write(self._clip(text, rate))
        writer.close()
        tell()

    def _clip(self, text: str, words_per_minute: int) -> Clip:
        import numpy as np  # noqa: PLC0415 - not on the way to the engine's name

        from companion.devices.engines.stretch import stretched  # noqa: PLC0415 - as above

        speed = float(np.interp(words_per_minute, *np.array(SPEEDS).T))
        rate = self._network.sample_rate
        sentences = self._network.stream(spelled(text), seed=SEED)
        sound = np.concatenate([np.zeros(0), *(_closer(each, rate) for each in sentences)])
        return resampled(from_samples(GAIN * stretched(sound, rate, speed), rate), CLIP_RATE)


def _closer(sentence: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """Return a sentence with less of the silence that the network puts around it."""
    import numpy as np  # noqa: PLC0415 - as above

    loud = np.flatnonzero(np.abs(sentence) > SILENT)
    if not len(loud):
        return sentence[:0]
    start = max(0, loud[0] - round(LEAD_SECONDS * rate))
    return sentence[start : loud[-1] + round(TRAIL_SECONDS * rate)]
