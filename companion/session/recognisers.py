"""Which recogniser listens: the weaver's own words if taught, else a model of the language."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.base import home
from companion.base.errors import ModelError, NoEarError
from companion.devices.recogniser import models, samples
from companion.devices.recogniser.builtin import BuiltInRecogniser
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.taught import TaughtRecogniser, from_pcm16, learn
from companion.devices.recogniser.vosk_recogniser import VoskRecogniser
from companion.session.spoken import lacking, unheard, vocabulary
from companion.wording import hearing as wording

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from companion.devices.recogniser.interface import Recogniser
    from companion.devices.recogniser.samples import SampleSet


@dataclass(frozen=True, slots=True)
class Choice:
    """A recogniser that has been chosen and not yet loaded."""

    line: str
    """What listens, for the weaver."""
    make: Callable[[], Recogniser]
    """Loads it, which may take seconds; raises ModelError."""


def taught_folder(language: str) -> Path:
    """Return where the words taught for a language are."""
    return home.data() / "words" / language


def choose(wanted: str, language: str) -> Choice:
    """Return the recogniser asked for; "auto" takes the best that is set up.

    Raises:
        ModelError: it is not set up, with what to do.
    """
    if wanted == "taught":
        return _taught(language, samples.load(taught_folder(language)))
    if wanted == "vosk":
        return _vosk(language)
    if wanted == "built-in":
        return _built_in(language)
    return _best(language)


def problems(recogniser: Recogniser, language: str) -> list[str]:
    """Return what a loaded recogniser lacks, one plain line each."""
    if recogniser.name == "taught":
        return recogniser.check()
    lost = unheard(recogniser.missing(vocabulary(language, None)), language)
    return [wording.by_key_alone(lost)] if lost else []


def _best(language: str) -> Choice:
    kept = samples.load(taught_folder(language))
    if kept.words and not lacking(kept.words, language):
        return _taught(language, kept)
    if models.choose(models.default_folder(), language) is not None:
        return _vosk(language)
    raise _nothing(kept, language)


def _nothing(kept: SampleSet, language: str) -> ModelError:
    if not kept.words:
        return NoEarError(wording.NOT_SET_UP)
    return ModelError(wording.still_to_teach(lacking(kept.words, language)))


def _taught(language: str, kept: SampleSet) -> Choice:
    if not kept.words:
        raise ModelError(
            f"No words have been taught for the language {language}; run `companion teach`."
        )

    def make() -> Recogniser:
        embedder = SpeechEmbedder()
        takes = {word: [from_pcm16(take) for take in own] for word, own in kept.words.items()}
        room = [from_pcm16(sound) for sound in kept.background]
        return TaughtRecogniser(learn(takes, room, embedder), embedder)

    return Choice(wording.taught_words(len(kept.words)), make)


def _vosk(language: str) -> Choice:
    folder = models.choose(models.default_folder(), language)
    if folder is None:
        raise ModelError(
            f"There is no model for the language {language}; fetch one with "
            f"`companion models fetch {language}`, or add one with `companion models add`."
        )
    return Choice(wording.with_model(folder.name), lambda: VoskRecogniser(folder, language))


def _built_in(language: str) -> Choice:
    if language != "en":
        raise ModelError(
            f"The built-in recogniser hears English alone, not {language}. Teach your words with "
            "`companion teach`."
        )
    return Choice(
        wording.LONG_PHRASES,
        BuiltInRecogniser,
    )
