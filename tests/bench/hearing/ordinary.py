"""Ordinary words, and which of them are hard to tell from a command.

Likelihood: for English pocketsphinx's language model (BSD), for Spanish the package wordfreq (lists
CC BY-SA 4.0). Sounds: the CMU Pronouncing Dictionary in the former, or espeak-ng.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path

from pronouncing import Sounds, by_rule, by_rule_each, english
from sounds import distance

COUNT = 2_000
_NEAR = 2.0
"""How many sounds a word may differ in to be near (`lint.distance`)."""


def likely_words(count: int = COUNT, language: str = "en") -> tuple[str, ...]:
    """Return words by falling likelihood."""
    return (_english() if language == "en" else _spanish())[:count]


@cache
def _spanish() -> tuple[str, ...]:
    words = import_module("wordfreq").top_n_list("es", 3 * COUNT)
    return tuple(word for word in words if word.isalpha())


@cache
def _english() -> tuple[str, ...]:
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
    return tuple(sorted(words, key=lambda word: (-model.prob([word]), word)))


def near(form: str, most: int, language: str) -> list[str]:
    """Return the likeliest words that sound nearly as a form of one word, but not as it does."""
    own = ways(form, language)

    def far(word: str) -> float:
        return min(distance(way, other) for way in own for other in ways(word, language))

    alike = (word for word in likely_words(2 * COUNT, language) if 0 < far(word) < _NEAR)
    return [word for word, _ in zip(alike, range(most), strict=False)]


def ways(text: str, language: str) -> list[Sounds]:
    """Return the ways a text may be said."""
    if language == "en":
        return english(text)
    return [said] if (said := _said_by_rule().get(text)) else by_rule(text, language)


@cache
def _said_by_rule() -> dict[str, Sounds]:
    """Return how the likely words of Spanish are said."""
    words = likely_words(2 * COUNT, "es")
    return dict(zip(words, by_rule_each(words, "es"), strict=True))


@cache
def homophones(forms: frozenset[str]) -> frozenset[str]:
    """Return the likely words that sound exactly as a form does: nobody could refuse those."""
    sounds = {way for form in forms for way in english(form)}
    return frozenset(word for word in likely_words() if sounds & set(english(word)))
