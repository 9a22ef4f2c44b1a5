"""Recorded talk that is learnt as no command.

Of the recordings that serve both ends (`recordings.SHARED`) those for choosing are cut as the
hearing cuts them. Of every eighteen sounds twelve are learnt, as they are, once spoilt and, for
English, once from another throat, and with them pieces of the talk that runs on; of a play every
second sound is enough. The least sureness is chosen on all of them, learnt or not, and the figures
are of none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import material
import numpy as np
import recordings
import scenes
from voices import RATE

from companion.devices.recogniser.taught import from_pcm16

if TYPE_CHECKING:
    from collections.abc import Iterator

AROUND_SECONDS = 0.26 + 0.25
"""Of silence, which a sound has before and after it."""
LONGEST_BYTES = round((1.6 + AROUND_SECONDS) * 32_000)
"""Of a sound with the silence round it: what is longer is no command."""
WORDS, WORDS_LEARNT = "ktuberling-data", (4, 5, 6, 7)
"""Single words of some thirty languages, and which of every eight of them are learnt."""
_PLAY = "flight-of-the-amazon-queen"
_LEAD, _REST = round(0.2 * RATE), round(0.16 * RATE)
_TURN, _TURNS = 6, 3
_BLOCK = RATE // 100
_LATER = 15
_APART = {_PLAY: 10.0}
"""Seconds between the beginnings of two pieces, where it is not four."""


def sounds(package: str) -> list[bytes]:
    """Return what may be as short as a command of the recordings for choosing."""
    scene = scenes.recorded(package, recordings.CHOOSING)
    short = [sound.pcm16 for sound in scene.sounds if len(sound.pcm16) <= LONGEST_BYTES]
    return short[1::2] if package == _PLAY else short


def learnt(language: str) -> np.ndarray:
    """Return the head's numbers for all that is learnt, a row a sound."""
    parts = [part for package in recordings.SHARED for part in _of(package, language)]
    return np.concatenate([_single_words(), *parts])


def _of(package: str, language: str) -> Iterator[np.ndarray]:
    whole = material.kept(f"talk 1 {package}", lambda: map(from_pcm16, sounds(package)))
    pieces = material.kept(f"pieces 1 {package}", lambda: _pieces(package))
    some = [number for number in range(len(whole)) if _is_learnt(number)]
    yield whole[some]
    if package != _PLAY:  # long enough as it is
        spoilt = material.kept(f"talk spoilt 1 {package}", lambda: _spoilt(package))
        yield spoilt[some]
    yield pieces
    if material.REVOICED_OTHERS[language]:
        yield material.kept(f"talk revoiced 1 {package}", lambda: _revoiced(package, some))


def _is_learnt(number: int) -> bool:
    return number // _TURN % _TURNS != 0


def _single_words() -> np.ndarray:
    every = (s.pcm16 for s in scenes.recorded(WORDS).sounds if len(s.pcm16) <= LONGEST_BYTES)
    some = [pcm16 for number, pcm16 in enumerate(every) if number % 8 in WORDS_LEARNT]
    return material.kept(f"words 1 {WORDS}", lambda: map(from_pcm16, some))


def _spoilt(package: str) -> Iterator[np.ndarray]:
    for number, pcm16 in enumerate(sounds(package)):
        yield material.spoilt(from_pcm16(pcm16)[_LEAD:-_REST], material.draws(package, number, 0))


def _revoiced(package: str, some: list[int]) -> Iterator[np.ndarray]:
    every = sounds(package)
    for number in some:
        yield material.revoiced(from_pcm16(every[number])[_LEAD:-_REST], package, number)


def _pieces(package: str) -> Iterator[np.ndarray]:
    """Yield pieces of 0.3 to 1.4 s, cut where the talk is softest thereabouts, and spoilt."""
    talk, random = recordings.load(package, recordings.CHOOSING), np.random.default_rng(7)
    blocks = talk[: len(talk) // _BLOCK * _BLOCK].reshape(-1, _BLOCK)
    level = np.sqrt(np.mean(np.square(blocks), axis=1))
    least, apart = float(np.quantile(level, 0.9)) * 0.5, _APART.get(package, 4.0)
    for start in np.arange(0, len(talk) / RATE, apart):
        first = int((start + random.uniform(0, apart)) * 100)
        length = int(np.exp(random.uniform(np.log(0.3), np.log(1.4))) * 100)
        if first + length + 20 <= len(level):
            first = _softest(level, first)
            last = _softest(level, first + length)
            if level[first:last].max() >= least:
                yield material.spoilt(talk[first * _BLOCK : last * _BLOCK], random)


def _softest(level: np.ndarray, block: int) -> int:
    return block + int(level[block : block + _LATER].argmin())
