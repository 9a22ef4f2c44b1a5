"""What the untaught head is trained on and tried on: words, near words and other speech.

Each sound is made or cut once, spoilt in several ways (speed, room, noise, microphone), and kept
as the numbers the head is given. All draws are fixed, so that the same packages give the same.
"""

from __future__ import annotations

import hashlib
from functools import cache
from typing import TYPE_CHECKING

import cast
import numpy as np
import rooms
import scenes
import soxr
from voices import CACHE, RATE, Voice, speak

from companion.base.numerals import number_forms
from companion.command.words import FORMS
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.head import OTHER, features
from companion.devices.recogniser.taught import from_pcm16, spoken_part

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

FOR_TRAINING = ("hedgewars-data",)
"""Recorded speech the head learns to refuse."""
FOR_CHOOSING = ("ktuberling-data",)
"""Recorded speech the least sureness is chosen on: every second sound; the others are reported."""
COPIES = 4
"""How often each spoken command is heard in training, each time otherwise."""
_TALK_VOICES = (Voice("espeak-ng", "en-us+m2"), Voice("hibari", "heart"))


def forms(language: str) -> tuple[str, ...]:
    """Return the spoken forms that are heard untaught: all that take no number and no reason."""
    every = (form for given in FORMS[language].values() for form in given if "{" not in form)
    return tuple(dict.fromkeys(every))


def training(language: str) -> Iterator[tuple[np.ndarray, str]]:
    """Yield the head's numbers and the class of every sound to train on."""
    for voice in cast.TRAINING[language]:
        for form in assigned(voice, language):
            yield from _copies(cast.drawn(voice, form), form, form)
    for voice, text in _others(language):
        yield from _copies(cast.drawn(voice, text), text, OTHER, COPIES - 2)
    for voice in cast.TRAINING[language][::3]:
        for form in assigned(voice, language)[::2]:
            yield from _cut_short(cast.drawn(voice, form), form, language)
    for package in FOR_TRAINING:
        yield from ((row, OTHER) for row in recorded(package))
    yield from ((row, OTHER) for row in _kept("knocks", _knocks))


def recorded(package: str) -> np.ndarray:
    """Return the head's numbers for every sound that the hearing cuts from recorded speech."""
    return _kept(
        f"recorded 2 {package}",
        lambda: [from_pcm16(sound.pcm16) for sound in scenes.recorded(package).sounds],
    )


def assigned(voice: Voice, language: str) -> tuple[str, ...]:
    """Return what a speaker says: a costly voice says some of the words, the others all."""
    words = forms(language)
    if voice.engine != "kokoro":
        return words
    costly = [v for v in cast.TRAINING[language] if v.engine == "kokoro"]
    return tuple(word for word in words if voice in cast.turns(costly, word, language))


def _others(language: str) -> Iterator[tuple[Voice, str]]:
    """Yield who says what that is no command: near words and numbers."""
    cast_of = cast.TRAINING[language]
    costly = [voice for voice in cast_of if voice.engine == "kokoro"]
    cheap = [voice for voice in cast_of if voice.engine != "kokoro"]
    for i, text in enumerate(cast.near(language, frozenset(forms(language)))):
        yield from ((voice, text) for voice in cast.near_turns(costly, i, language))
        yield from ((cheap[(i + k) % len(cheap)], text) for k in (0, 3, 7))
    for number in range(61):
        for text in number_forms(number, language)[:1]:
            yield from ((cheap[(number + k) % len(cheap)], text) for k in (0, 5))


def _copies(
    voice: Voice, text: str, said: str, count: int = COPIES
) -> Iterator[tuple[np.ndarray, str]]:
    def make() -> list[np.ndarray]:
        sound = speak(voice, text)
        return [spoilt(sound, _random(voice, text, copy)) for copy in range(count)]

    yield from ((row, said) for row in _kept(f"copies 1 {voice!r} {text} {count}", make))


def _cut_short(voice: Voice, form: str, language: str) -> Iterator[tuple[np.ndarray, str]]:
    """Half a command is none, unless it is another one: the first and the last part of a form."""
    words = form.split()
    parts = [text for text in (words[0], words[-1]) if text in forms(language)]

    def make() -> list[np.ndarray]:
        sound, random = speak(voice, form), _random(voice, form, "cut")
        at = round(len(sound) * random.uniform(0.4, 0.6))
        return [spoilt(part, random) for part in (sound[:at], sound[at:])]

    if not parts:
        yield from ((row, OTHER) for row in _kept(f"cut 1 {voice!r} {form}", make))


def spoilt(sound: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Return a sound as a microphone may get it, with the silence the hearing leaves round it."""
    changed = soxr.resample(sound, RATE, round(RATE * random.uniform(0.9, 1.12)))
    heard = rooms.at_level(np.asarray(changed, dtype=np.float32), rooms.SPEECH_DBFS)
    if random.random() < 0.4:
        heard = rooms.in_room(heard, random.uniform(0.2, 0.6), random)
    heard = _through_microphone(heard, random)
    whole = np.pad(heard, (round(0.26 * RATE), round(0.22 * RATE))).astype(np.float32)
    decibels = random.uniform(8, 40)
    noise = rooms.white(len(whole), random) if random.random() < 0.4 else _babble(whole, random)
    return np.asarray(whole + rooms.at_level(noise, rooms.SPEECH_DBFS - decibels))


def _through_microphone(sound: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Tilt the spectrum by up to 6 dB each octave decade, and cut what a small one misses."""
    spectrum = np.fft.rfft(sound)
    hertz = np.maximum(np.fft.rfftfreq(len(sound), 1 / RATE), 20.0)
    gain = (hertz / 1000.0) ** random.uniform(-0.3, 0.3)
    gain[hertz < random.uniform(20, 250)] *= 0.1
    gain[hertz > random.uniform(3800, 8000)] *= 0.1
    return np.asarray(np.fft.irfft(spectrum * gain, len(sound)), dtype=np.float32)


def _babble(sound: np.ndarray, random: np.random.Generator) -> np.ndarray:
    talk = [speak(voice, line) for voice in _TALK_VOICES for line in scenes.TALK]
    start = random.integers(0, RATE)
    return rooms.babble(len(sound) + RATE, talk, random)[start : start + len(sound)]


def _knocks() -> list[np.ndarray]:
    return [rooms.knock(np.random.default_rng(seed)) for seed in range(120)]


def _random(*key: object) -> np.random.Generator:
    digest = hashlib.sha256(repr(key).encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:8], "little"))


def _kept(name: str, make: Callable[[], list[np.ndarray]]) -> np.ndarray:
    """Return the head's numbers for sounds made once, one row each; kept in the cache."""
    path = CACHE / "features" / f"{hashlib.sha256(name.encode()).hexdigest()[:24]}.npy"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        embed = _embedder().embed
        rows = [features(embed(spoken_part(sound))) for sound in make() if len(sound)]
        np.save(path, np.array(rows, dtype=np.float32).reshape(len(rows), -1))
    return np.asarray(np.load(path))


@cache
def _embedder() -> SpeechEmbedder:
    return SpeechEmbedder()
