"""Which recogniser listens: the weaver's own words if taught, else a model of the language."""

from collections.abc import Callable
from pathlib import Path

from companion.base import home
from companion.base.errors import ModelError, NoEarError
from companion.base.value import Value
from companion.devices.recogniser import models, samples
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.interface import Recogniser
from companion.devices.recogniser.samples import SampleSet
from companion.devices.recogniser.taught import TaughtRecogniser, from_pcm16, learn
from companion.devices.recogniser.untaught import Opinion, UntaughtRecogniser, heard_forms, why_not
from companion.devices.recogniser.vosk_recogniser import VoskRecogniser
from companion.session.spoken import lacking, unheard, vocabulary
from companion.wording import hearing as wording


class ChosenEar(Value):
    """A recogniser that has been chosen and not yet loaded."""

    line: str
    """What listens, for the weaver."""
    make: Callable[[], Recogniser]
    """Loads it, which may take seconds; raises ModelError."""


def taught_folder(language: str) -> Path:
    """Return where the words taught for a language are."""
    return home.data() / "words" / language


def choose(wanted: str, language: str) -> ChosenEar:
    """Return the recogniser asked for, "auto" the best that is set up; ModelError if none is."""
    return {"taught": _taught, "vosk": _vosk, "untaught": _untaught}.get(wanted, _best)(language)


def problems(recogniser: Recogniser, language: str) -> list[str]:
    """Return what a loaded recogniser lacks, one plain line each."""
    if recogniser.name == "taught":
        return recogniser.check()
    lost = unheard(recogniser.missing(vocabulary(language, None)), language)
    return [wording.by_key_alone(", ".join(lost))] if lost else []


def _best(language: str) -> ChosenEar:
    kept = samples.load(taught_folder(language))
    if kept.words and not lacking(kept.words, language):
        return _taught(language, kept)
    if models.choose(models.default_folder(), language) is not None:
        return _vosk(language)
    if not why_not(language):
        return _taught(language, kept) if kept.words else _untaught(language)
    if kept.words:
        raise ModelError(wording.still_to_teach(lacking(kept.words, language)))
    raise NoEarError(wording.NOT_SET_UP)


def _untaught(language: str) -> ChosenEar:
    reason = why_not(language)
    if reason:
        raise ModelError(f"{reason} Teach your own words: companion teach")
    return ChosenEar(
        wording.UNTAUGHT, lambda: UntaughtRecogniser(Opinion(language), SpeechEmbedder())
    )


def _taught(language: str, kept: SampleSet | None = None) -> ChosenEar:
    kept = kept or samples.load(taught_folder(language))
    if not kept.words:
        raise ModelError(
            f"No words have been taught for the language {language}; run `companion teach`."
        )

    def make() -> Recogniser:
        embedder = SpeechEmbedder()
        takes = {word: [from_pcm16(take) for take in own] for word, own in kept.words.items()}
        room = [from_pcm16(sound) for sound in kept.background]
        first = TaughtRecogniser(learn(takes, room, embedder), embedder)
        return _seconded(first, language, embedder)

    has_more = bool(heard_forms(language) - kept.words.keys())
    return ChosenEar(wording.taught_words(len(kept.words), has_more=has_more), make)


def _vosk(language: str) -> ChosenEar:
    folder = models.choose(models.default_folder(), language)
    if folder is None:
        raise ModelError(
            f"There is no model for the language {language}; fetch one with "
            f"`companion models fetch {language}`, or add one with `companion models add`."
        )
    return ChosenEar(
        wording.with_model(folder.name, has_second=not why_not(language)),
        lambda: _seconded(VoskRecogniser(folder, language), language),
    )


def _seconded(
    first: Recogniser, language: str, embedder: SpeechEmbedder | None = None
) -> Recogniser:
    """Return a recogniser with the untaught one beside it, where that works here."""
    if why_not(language):
        return first
    return UntaughtRecogniser(Opinion(language), embedder or SpeechEmbedder(), first)
