"""The words a weaver has taught for a language, kept on disk after each."""

from __future__ import annotations

from functools import cache, cached_property
from typing import TYPE_CHECKING

from companion.devices.recogniser import samples
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.taught import from_pcm16, known, learn, spoken_part
from companion.devices.recogniser.teaching import MOST_TAKES
from companion.devices.recogniser.untaught import heard_forms
from companion.session.recognisers import taught_folder
from companion.session.spoken import BASIC, lacking, to_ask_for, vocabulary
from companion.wording import hearing as wording
from companion.wording import score as report

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from companion.devices.recogniser.embedding import Embedder


class Book:
    """What has been taught in the language of the commands, and what is wrong with it."""

    def __init__(self, language: str) -> None:
        self.language = language
        self._folder = taught_folder(language)
        self._samples = samples.load(self._folder)

    @cached_property
    def embedder(self) -> Embedder:
        """What turns sound into embeddings; loaded at first use."""
        return SpeechEmbedder()

    @cached_property
    def untaught(self) -> frozenset[str]:
        """The spoken forms that are heard here without teaching."""
        return heard_forms(self.language)

    @property
    def lacking(self) -> tuple[str, ...]:
        """What of the words that a whole walk needs is neither taught nor heard already."""
        return lacking(self.untaught | self._samples.words.keys(), self.language)

    @property
    def heard_already(self) -> tuple[str, ...]:
        """One form of each command that is heard untaught."""
        return tuple(
            form for kind in BASIC if (form := to_ask_for(kind, self.language)) in self.untaught
        )

    def improve(self, found: Mapping[str, Sequence[bytes]]) -> str:
        """Add PCM of words surely meant to those taught, unless the lesson gets worse; say which.

        Judged by how many of all recordings, old and new, the others of their word would tell.
        """
        old = self._samples.words
        more = {
            word: (*old[word], *sounds)[-MOST_TAKES:]
            for word, sounds in found.items()
            if word in old
        }
        if not more:
            return report.NOTHING_TAUGHT
        embed = cache(lambda sound: self.embedder.embed(spoken_part(from_pcm16(sound))))
        before = {word: [embed(take) for take in takes] for word, takes in old.items()}
        after = before | {word: [embed(take) for take in takes] for word, takes in more.items()}
        tried = {word: {id(e): e for e in (*before[word], *after[word])}.values() for word in after}
        every = {word: list(sounds) for word, sounds in tried.items()}
        was, now = known(before, every), known(after, every)
        if now < was:
            return report.lesson_kept(now, was, sum(map(len, every.values())))
        self._save(samples.SampleSet({**old, **more}, self._samples.background))
        return report.lesson_better(", ".join(more))

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
            yield wording.to_teach(", ".join(self.lacking))
        yield wording.kept_words(len(self._samples.words), str(self._folder))

    def _save(self, kept: samples.SampleSet) -> None:
        samples.save(self._folder, kept)
        self._samples = kept
