"""Teaching the companion a word: take a few recordings, and say at once if one will not do."""

from collections.abc import Sequence
from enum import StrEnum

from companion.base.value import Value
from companion.devices.recogniser.embedding import Embedder, Embeddings
from companion.devices.recogniser.taught import WIDEST, from_pcm16, spoken_part
from companion.devices.recogniser.warping import distances

FEWEST_TAKES = 1
USUAL_TAKES = 3
"""One recording is of use, three are sure."""
MOST_TAKES = 5


class Verdict(StrEnum):
    """What is said about a recording."""

    KEPT = "kept"
    UNLIKE = "unlike the other recordings of the word; say it again"
    LIKE_OTHER = "too much like another word; choose a different one"


class Take(Value):
    """The verdict on one recording."""

    verdict: Verdict
    other: str = ""
    """The word it is too much like."""


class Teaching:
    """Collects the recordings of a set of words, three to five of each, one word after another."""

    def __init__(self, words: Sequence[str], takes: int, embedder: Embedder) -> None:
        self._words = tuple(words)
        self._wanted = min(max(takes, FEWEST_TAKES), MOST_TAKES)
        self._embedder = embedder
        self._sounds: dict[str, list[bytes]] = {word: [] for word in words}
        self._embedded: dict[str, list[Embeddings]] = {word: [] for word in words}

    @property
    def word(self) -> str:
        """The word to be said next; empty when all are taught."""
        return next((w for w in self._words if len(self._sounds[w]) < self._wanted), "")

    @property
    def takes_left(self) -> int:
        """How many recordings of that word are still to come."""
        return self._wanted - len(self._sounds[self.word]) if self.word else 0

    @property
    def takes(self) -> dict[str, list[bytes]]:
        """All recordings kept so far, as PCM, by word."""
        return {word: list(sounds) for word, sounds in self._sounds.items() if sounds}

    def add(self, pcm16: bytes) -> Take:
        """Judge a recording of `word`, and keep it if it will do."""
        word = self.word
        embedding = self._embedder.embed(spoken_part(from_pcm16(pcm16)))
        own = distances(embedding, self._embedded[word])
        others = {
            name: min(distances(embedding, takes))
            for name, takes in self._embedded.items()
            if takes and name != word
        }
        nearest = min(others, key=others.__getitem__, default="")
        if own and min(own) > WIDEST:
            return self._unlike(word)
        if nearest and others[nearest] < (min(own) if own else WIDEST / 2):
            return Take(Verdict.LIKE_OTHER, nearest)
        self._sounds[word].append(pcm16)
        self._embedded[word].append(embedding)
        return Take(Verdict.KEPT)

    def forget(self, word: str) -> None:
        """Drop all recordings of a word, to record it anew."""
        self._sounds[word].clear()
        self._embedded[word].clear()

    def _unlike(self, word: str) -> Take:
        """Refuse an odd take; if only one was there before, either may be the odd one."""
        if len(self._sounds[word]) == 1:
            self.forget(word)
        return Take(Verdict.UNLIKE)
