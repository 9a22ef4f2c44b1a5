"""The built-in start: pocketsphinx and the US English model inside its package.

It cannot tell a short word from other speech, nor one number from another, and so does not try.
Measured on synthetic voices in little noise: words of one syllable were heard in 6 of 64 tries, and
one in twenty phrases with a number was taken for another one; of the phrases of six sounds or more,
seven in ten were heard and none of 192 was taken for another. It therefore listens only for those,
beside two thousand ordinary words that draw other speech away, and believes a phrase only if it
fits the sound about as well as any row of sounds at all does.
"""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from companion.base import numerals
from companion.base.errors import ModelError
from companion.devices.recogniser.interface import Heard, Refusal, Vocabulary
from companion.devices.recogniser.pronouncing import english, english_dictionary

LEAST_SOUNDS: Final = 6
"""Phrases with fewer sounds are not listened for."""
_DECOYS: Final = 2000
"""Ordinary words listened for and refused: the likeliest of the package's own language model."""
_WORST_FIT: Final = 0.0005
"""How much worse a frame the phrase may fit than a free row of sounds; nine in ten spoken
phrases fit better, and a third of the other sounds that were taken for one fit worse."""
_NUMBER_WORDS: Final = frozenset(
    word for number in (*range(100), 100) for word in numerals.english(number).split()
) - {"one"}
_FRAME_BYTES: Final = 320
_OPEN, _FREE = "phrases and ordinary words", "free row of sounds"


class BuiltInRecogniser:
    """Recognises English phrases of six sounds or more.

    Raises:
        ModelError: if the package is missing.
    """

    name = "built-in"

    def __init__(self) -> None:
        problems = self.check()
        if problems:
            raise ModelError(problems[0])
        self._folder = Path(import_module("pocketsphinx").get_model_path()) / "en-us"
        self._decoder = self._loaded()
        self._likely = self._likely_words()
        self._searches: dict[Vocabulary, str] = {}
        self._phrases: frozenset[str] = frozenset()
        self._search = ""
        self._pieces: list[bytes] = []

    def check(self) -> list[str]:
        """Return what keeps it from working, one plain line each."""
        if find_spec("pocketsphinx") is None:
            return ["The package pocketsphinx is missing; install companion[hearing]."]
        return []

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        """Return what it does not listen for: unknown words, short phrases, numbers."""
        return tuple(sorted((vocabulary.phrases | vocabulary.numbers) - _safe(vocabulary)))

    def expect(self, vocabulary: Vocabulary) -> None:
        """Listen for the phrases of `vocabulary` that are long enough."""
        self._phrases = _safe(vocabulary)
        if vocabulary not in self._searches and self._phrases:
            name = f"{_OPEN} {len(self._searches)}"
            self._decoder.add_jsgf_string(name, self._grammar())
            self._searches[vocabulary] = name
        self._search = self._searches.get(vocabulary, "")

    def begin(self) -> None:
        """Start a sound."""
        self._pieces.clear()

    def feed(self, pcm16: bytes) -> None:
        """Take the next piece of the sound."""
        self._pieces.append(pcm16)

    def finish(self) -> Heard:
        """Say which phrase it was, or refuse it."""
        sound = b"".join(self._pieces)
        self._pieces.clear()
        if not self._search or not sound:
            return Heard("", refusal=Refusal.UNKNOWN)
        words, fit = self._decoded(self._search, sound)
        if words not in self._phrases:
            return Heard("", refusal=Refusal.UNKNOWN)
        _, free_fit = self._decoded(_FREE, sound)
        worse = (free_fit - fit) / (len(sound) / _FRAME_BYTES)
        score = max(0.0, min(1.0, 1.0 - worse / (2.0 * _WORST_FIT)))
        if worse > _WORST_FIT:
            return Heard("", score, Refusal.UNSURE, words)
        return Heard(words, score)

    def _decoded(self, search: str, sound: bytes) -> tuple[str, float]:
        """Return the best words of a search and how well they fit."""
        decoder = self._decoder
        decoder.activate_search(search)
        decoder.start_utt()
        decoder.process_raw(sound, full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return (str(best.hypstr), float(best.score)) if best else ("", 0.0)

    def _grammar(self) -> str:
        own = {word for phrase in self._phrases for word in phrase.split()}
        decoys = [word for word in self._likely if word not in own][:_DECOYS]
        choices = " | ".join([*sorted(self._phrases), *decoys])
        return f"#JSGF V1.0; grammar heard; public <heard> = {choices};"

    def _loaded(self) -> Any:
        decoder = import_module("pocketsphinx").Decoder(
            hmm=str(self._folder / "en-us"),
            dict=str(self._folder / "cmudict-en-us.dict"),
            lm=None,
            loglevel="FATAL",
        )
        decoder.add_allphone_file(_FREE, str(self._folder / "en-us-phone.lm.bin"))
        return decoder

    def _likely_words(self) -> list[str]:
        """Return words by falling likelihood in the package's language model."""
        library = import_module("pocketsphinx")
        model = library.NGramModel(
            self._decoder.config, self._decoder.logmath, str(self._folder / "en-us.lm.bin")
        )
        words = [word for word in english_dictionary() if word.isalpha()]
        ranked = sorted(words, key=lambda word: (-model.prob([word]), word))
        return ranked[: 2 * _DECOYS]


def _safe(vocabulary: Vocabulary) -> frozenset[str]:
    """Return the phrases that are long enough and carry no number."""
    return frozenset(
        phrase
        for phrase in vocabulary.phrases
        if _least_sounds(phrase) >= LEAST_SOUNDS and not _is_numbered(phrase, vocabulary)
    )


def _least_sounds(phrase: str) -> int:
    return min((len(sounds) for sounds in english(phrase)), default=0)


def _is_numbered(phrase: str, vocabulary: Vocabulary) -> bool:
    """Tell "count one", which has a sister "count two", from "next one", which has none."""
    words = phrase.split()
    if "one" in words and " ".join("two" if w == "one" else w for w in words) in vocabulary.phrases:
        return True
    return any(word in _NUMBER_WORDS for word in words)
