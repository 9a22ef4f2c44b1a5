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
import ordinary
import revoice
import rooms
import scenes
import soxr
import whole
from voices import CACHE, RATE, Voice, speak

from companion.base.numerals import number_forms
from companion.command.words import FORMS
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.head import OTHER, features
from companion.devices.recogniser.taught import from_pcm16, spoken_part

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

FOR_TRAINING = ("hedgewars-data",)
"""Recorded speech the head learns to refuse."""
FOR_CHOOSING = ("ktuberling-data",)
"""Recorded speech the least sureness is chosen on, in part; another part is reported."""
COPIES = 4
"""How often each spoken command is heard in training, each time otherwise."""
COPIES_OF_OTHERS = {"en": 2, "es": 1}
REVOICED, REVOICED_OTHERS = {"en": 2, "es": 0}, {"en": 1, "es": 0}
"""How often a spoken command, and what is none, is heard from another throat besides. In Spanish,
of which fewer voices are tried, it was no gain."""
SPEAKERS_OF_LONG = {"en": 2, "es": 1}
SPEAKERS_OF_SHORT = {"en": 10, "es": 2}
"""How many of the voices that take long say a form of several words, and of one; as with the other
counts by language, Spanish was given what there was time for."""
TRIED_BY_COSTLY = 22
"""How many of the forms an unseen voice that takes long is tried on."""
NEAR_WORDS = 12
"""How many of the likeliest words near to a short form are learnt beside it."""
USUAL_WORDS = {"en": 800, "es": 200}
"""How many of the likeliest words of all are learnt as other speech."""
NEAR_BY_COSTLY = {"en": 72, "es": 6}
"""How many of the near words are said by a voice that takes long, too."""
_TALK_VOICES = (Voice("espeak-ng", "en-us+m2"), Voice("hibari", "heart"))


def forms(language: str) -> tuple[str, ...]:
    """Return the spoken forms that are heard untaught: all that take no number and no reason."""
    every = (form for given in FORMS[language].values() for form in given if "{" not in form)
    return tuple(dict.fromkeys(every))


def spoken(language: str) -> Iterator[tuple[Voice, str]]:
    """Yield who says which command."""
    for form in forms(language):
        yield from ((cast.drawn(voice, form), form) for voice in speakers(form, language))


def speakers(form: str, language: str) -> list[Voice]:
    """Return who says a command: of the voices that take long some, of the others all.

    A short one is said by more of them: it is the hardest to tell.
    """
    costly, cheap = _costly_and_cheap(language)
    more = () if " " in form else cast.FOR_SHORT[language]
    count = (SPEAKERS_OF_LONG if " " in form else SPEAKERS_OF_SHORT)[language]
    return [*cheap, *cast.turns(costly, form, count, language), *more]


def tried(voice: Voice, language: str) -> tuple[str, ...]:
    """Return what an unseen speaker says: a voice that takes long the first of the forms."""
    return forms(language)[: TRIED_BY_COSTLY if voice.engine == "kokoro" else None]


def others(language: str) -> Iterator[tuple[Voice, str]]:
    """Yield who says what that is no command: near words, ordinary words and numbers."""
    costly, cheap = _costly_and_cheap(language)
    plain = [voice for voice in cheap if "*" not in voice.name]
    words = frozenset(forms(language))
    curated = cast.near(language, words)
    some = curated[: NEAR_BY_COSTLY[language]]
    said = [(cast.near_turn(costly, i), word) for i, word in enumerate(some)]
    said += [(plain[(i + k) % len(plain)], w) for i, w in enumerate(curated) for k in (0, 3, 7)]
    found = (word for form in forms(language) if " " not in form for word in _found(form, language))
    for i, word in enumerate(dict.fromkeys(word for word in found if word not in curated)):
        said += [(cheap[(i + k) % len(cheap)], word) for k in (0, 7)]
    said += [(cheap[i % len(cheap)], word) for i, word in enumerate(_usual(language))]
    for i, text in enumerate(cast.TALK[language][0]):
        said += [(cheap[(i + k) % len(cheap)], text) for k in (0, 3, 5, 8)]
    for number in range(61):
        for text in number_forms(number, language)[:1]:
            said += [(plain[(number + k) % len(plain)], text) for k in (0, 5)]
    for voice, word in said:
        if word not in words and not cast.is_homophone(word, language, words):
            yield cast.drawn(voice, word), word


def _found(form: str, language: str) -> list[str]:
    return ordinary.near(form, NEAR_WORDS, language)


def _usual(language: str) -> tuple[str, ...]:
    return ordinary.likely_words(USUAL_WORDS[language], language)


def _costly_and_cheap(language: str) -> tuple[list[Voice], list[Voice]]:
    every = cast.TRAINING[language]
    costly = [voice for voice in every if voice.engine == "kokoro"]
    return costly, [voice for voice in every if voice.engine != "kokoro"]


def training(language: str) -> Iterator[tuple[np.ndarray, str]]:
    """Yield the head's numbers and the class of every sound to train on."""
    for voice, form in spoken(language):
        yield from _copies(voice, form, form)
        yield from _revoiced(voice, form, form, REVOICED[language])
    for voice in cast.TRAINING[language][::3]:
        if voice.engine != "kokoro":
            for form in forms(language)[::2]:
                yield from _cut_short(cast.drawn(voice, form), form, language)
    for voice, text in others(language):
        yield from _copies(voice, text, OTHER, COPIES_OF_OTHERS[language])
        yield from _revoiced(voice, text, OTHER, REVOICED_OTHERS[language])
    for package in FOR_TRAINING:
        yield from ((row, OTHER) for row in recorded(package))
    yield from ((row, OTHER) for row in kept("knocks", _knocks))


def recorded(package: str) -> np.ndarray:
    """Return the head's numbers for every sound that the hearing cuts from recorded speech."""
    return kept(
        f"recorded 2 {package}",
        lambda: [from_pcm16(sound.pcm16) for sound in scenes.recorded(package).sounds],
    )


def _copies(
    voice: Voice, text: str, said: str, count: int = COPIES
) -> Iterator[tuple[np.ndarray, str]]:
    def make() -> list[np.ndarray]:
        sound = speak(voice, text)
        return [spoilt(sound, draws(voice, text, copy)) for copy in range(count)]

    yield from ((row, said) for row in kept(f"copies 2 {voice!r} {text} {count}", make))


def _revoiced(voice: Voice, text: str, said: str, count: int) -> Iterator[tuple[np.ndarray, str]]:
    def make() -> Iterator[np.ndarray]:
        sound = speak(voice, text)
        for copy in range(count):
            yield revoiced(sound, voice, text, copy)

    rows = kept(f"revoiced 1 {voice!r} {text} {count}", make) if count else ()
    yield from ((row, said) for row in rows)


def revoiced(sound: np.ndarray, *key: object) -> np.ndarray:
    """Return a sound as from another throat, and spoilt."""
    return spoilt(revoice.revoiced(sound, draws(*key, "throat")), draws(*key, "revoiced"))


def _cut_short(voice: Voice, form: str, language: str) -> Iterator[tuple[np.ndarray, str]]:
    """Half a command is none, unless it is another one: the first and the last part of a form."""
    words = form.split()
    parts = [text for text in (words[0], words[-1]) if text in forms(language)]

    def make() -> list[np.ndarray]:
        sound, random = speak(voice, form), draws(voice, form, "cut")
        at = round(len(sound) * random.uniform(0.4, 0.6))
        return [spoilt(part, random) for part in (sound[:at], sound[at:])]

    if not parts:
        yield from ((row, OTHER) for row in kept(f"cut 2 {voice!r} {form}", make))


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


def draws(*key: object) -> np.random.Generator:
    """Return draws that are always the same for this key."""
    digest = hashlib.sha256(repr(key).encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:8], "little"))


def kept(name: str, make: Callable[[], Iterable[np.ndarray]]) -> np.ndarray:
    """Return the head's numbers for sounds made once, one row each; kept in the cache."""
    path = CACHE / "features" / f"{hashlib.sha256(name.encode()).hexdigest()[:24]}.npy"

    def rows() -> np.ndarray:
        embed = _embedder().embed
        found = [features(embed(spoken_part(sound))) for sound in make() if len(sound)]
        return np.array(found, dtype=np.float32).reshape(len(found), -1)

    return whole.array(path, rows)


@cache
def _embedder() -> SpeechEmbedder:
    return SpeechEmbedder()
