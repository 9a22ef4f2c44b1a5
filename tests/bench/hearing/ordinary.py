"""Ordinary English words, and which of them are hard to tell from a command.

Likelihood: pocketsphinx's language model (BSD). Sounds: the CMU Pronouncing Dictionary in it.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path

from pronouncing import english
from sounds import distance

COUNT = 2_000
_NEAR = 2.0
"""How many sounds a word may differ in to be near (`lint.distance`)."""


@cache
def likely_words(count: int = COUNT) -> tuple[str, ...]:
    """Return words by falling likelihood."""
    library = import_module("pocketsphinx")
    folder = Path(library.get_model_path()) / "en-us"
    decoder = library.Decoder(
        hmm=str(folder / "en-us"),
        dict=str(folder / "cmudict-en-us.dict"),
        lm=None,
        loglevel="FATAL",
    )
    model = library.NGramModel(decoder.config, decoder.logmath, str(folder / "en-us.lm.bin"))
    lines = (folder / "cmudict-en-us.dict").read_text("utf-8").splitlines()
    words = [word for line in lines if (word := line.partition(" ")[0]).isalpha()]
    return tuple(sorted(words, key=lambda word: (-model.prob([word]), word))[:count])


def near(form: str, most: int) -> list[str]:
    """Return the likeliest words that sound nearly as a form of one word, but not as it does."""
    ways = english(form)

    def far(word: str) -> float:
        return min(distance(way, other) for way in ways for other in english(word))

    alike = (word for word in likely_words(2 * COUNT) if 0 < far(word) < _NEAR)
    return [word for word, _ in zip(alike, range(most), strict=False)]


@cache
def homophones(forms: frozenset[str]) -> frozenset[str]:
    """Return the likely words that sound exactly as a form does: nobody could refuse those."""
    sounds = {way for form in forms for way in english(form)}
    return frozenset(word for word in likely_words() if sounds & set(english(word)))
