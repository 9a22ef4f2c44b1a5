"""The words a weaver has taught for a language, kept on disk after each."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from companion.devices.recogniser import samples
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.taught import from_pcm16, learn
from companion.session.recognisers import taught_folder
from companion.session.spoken import lacking, vocabulary
from companion.wording import hearing as wording

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.devices.recogniser.embedding import Embedder


class Book:
    """What has been taught, and what is wrong with it.

    Args:
        language: of the commands.
    """

    def __init__(self, language: str) -> None:
        self.language = language
        self._folder = taught_folder(language)
        self._samples = samples.load(self._folder)

    @cached_property
    def embedder(self) -> Embedder:
        """What turns sound into embeddings; loaded at first use."""
        return SpeechEmbedder()

    @property
    def lacking(self) -> tuple[str, ...]:
        """What of the words that a whole walk needs is still to be taught."""
        return lacking(self._samples.words, self.language)

    def may_hold(self, word: str) -> bool:
        """Whether the word is one that is listened for."""
        return vocabulary(self.language, None).allows(word)

    def keep(self, word: str, takes: tuple[bytes, ...]) -> None:
        """Keep a word, in place of what was taught for it before."""
        words = {**self._samples.words, word: takes}
        self._save(samples.SampleSet(words, self._samples.background))

    def keep_room(self, sound: bytes) -> None:
        """Keep the sound of the room."""
        self._save(samples.SampleSet(self._samples.words, (sound,)))

    def findings(self) -> Iterator[str]:
        """Yield what is wrong with the words, and what is still to be taught."""
        takes = {word: [from_pcm16(t) for t in own] for word, own in self._samples.words.items()}
        lesson = learn(takes, (), self.embedder)
        for one, other in lesson.too_close:
            yield wording.too_alike(one, other)
        if self.lacking:
            yield wording.to_teach(self.lacking)
        yield wording.kept_words(len(self._samples.words), str(self._folder))

    def _save(self, kept: samples.SampleSet) -> None:
        samples.save(self._folder, kept)
        self._samples = kept
