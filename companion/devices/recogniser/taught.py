"""Words the weaver has recorded: whatever the language, the accent or the way of speaking.

A sound is the word whose recordings it is nearest to, if it is near enough by that word's own
measure and clearly nearer than any other word.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from companion.base.value import Value
from companion.devices.recogniser.embedding import Embedder, Embeddings, power
from companion.devices.recogniser.interface import (
    SAMPLE_RATE,
    Heard,
    Recogniser,
    Refusal,
    Vocabulary,
)
from companion.devices.recogniser.warping import distances

Samples = NDArray[np.float32]

WIDEST = 0.050
"""No word may reach farther, however loosely it was recorded. Two recordings of one word by one
person were measured a median of 0.03 apart, of different words 0.16."""
NARROWEST = 0.040
"""Every word may reach this far: recordings made in one go are more alike than a day's work."""
_OWN_SPREAD = 2.0
"""Times the largest distance between the weaver's own recordings of the word."""
_CLEARLY = 0.85
"""The word must be this much nearer than the second nearest, and than the background."""
_TOO_CLOSE = 0.022
"""Two words nearer than this are not told apart safely."""
_NOISE_DECIBELS = 12.0
"""Each recording is learnt once more with noise this far below it: measured at 10 dB of noise,
that brought the words heard from 79 to 99 of a hundred."""
MARGIN_SECONDS = 0.08
"""Left before and after what stands out of a sound."""
_SLICE_SECONDS = 0.6
_WHOLE_SECONDS = 1.3


class Word(Value):
    """One taught word."""

    takes: tuple[Embeddings, ...]
    reach: float
    """The largest distance at which a sound is still this word."""


class Lesson(Value):
    """All taught words, ready to be recognised, and what is wrong with them."""

    words: Mapping[str, Word]
    background: tuple[Embeddings, ...] = ()
    """Sounds that are no words: whatever is nearer to one of them is refused."""
    too_close: tuple[tuple[str, str], ...] = ()
    """Pairs of words that sound too much alike to be safe; one of each should be changed."""


def spoken_part(samples: Samples) -> Samples:
    """Cut a sound down to where it stands out.

    That is less than 30 dB under its peak and 6 dB above its quietest tenth, but at most 10 dB
    under the peak, for a sound that has no quiet parts.
    """
    block = SAMPLE_RATE // 100
    count = len(samples) // block
    if count < 2:  # noqa: PLR2004 - nothing to compare
        return samples
    power = np.mean(np.square(samples[: count * block].reshape(count, block)), axis=1)
    peak = float(power.max())
    least = max(peak * 1e-3, min(float(np.percentile(power, 10)) * 4.0, peak * 0.1))
    loud = np.flatnonzero(power >= least)
    margin = round(MARGIN_SECONDS * SAMPLE_RATE)
    start = max(0, int(loud[0]) * block - margin)
    return samples[start : (int(loud[-1]) + 1) * block + margin]


def from_pcm16(pcm16: bytes) -> Samples:
    """Return 16 bit PCM as float32 with full scale 1.0."""
    return np.frombuffer(pcm16, dtype="<i2").astype(np.float32) / 32768.0


def learn(
    takes: Mapping[str, Sequence[Samples]], background: Sequence[Samples], embedder: Embedder
) -> Lesson:
    """Learn words from their recordings.

    Args:
        takes: for each word its recordings, 16 kHz, full scale 1.0; three to five do well.
        background: sounds to tell the words from, in pieces of any length: the room, ordinary
            talk, everyday words; may be empty.
        embedder: turns sound into embeddings.
    """
    clean = _clean(takes, embedder)
    noisy = {
        word: tuple(embedder.embed(_with_noise(spoken_part(take))) for take in takes[word])
        for word in clean
    }
    words = {word: Word(own + noisy[word], reach(own)) for word, own in clean.items()}
    pieces = (embedder.embed(piece) for sound in background for piece in _pieces(sound))
    return Lesson(words, tuple(pieces), _near_pairs(clean))


def sounding_alike(
    takes: Mapping[str, Sequence[Samples]], embedder: Embedder
) -> tuple[tuple[str, str], ...]:
    """Return the pairs of words that sound too much alike to be safe; arguments as of `learn`."""
    return _near_pairs(_clean(takes, embedder))


def spread(takes: Sequence[Embeddings]) -> float:
    """Return the largest distance of a take to the nearest of the other takes (leave one out)."""
    if len(takes) < 2:  # noqa: PLR2004 - one take has nothing to differ from
        return 0.0
    others = (list(takes[:index]) + list(takes[index + 1 :]) for index in range(len(takes)))
    return max(min(distances(take, rest)) for take, rest in zip(takes, others, strict=True))


def reach(own: Sequence[Embeddings]) -> float:
    """Return how far a word reaches, by how alike its own recordings are.

    It was once cut down where another word is near. On six people's recorded digits that lost more
    than it saved: whoever speaks unevenly was refused, while the rule that a word must be clearly
    nearer than the second nearest parts the two as well.
    """
    return min(max(NARROWEST, _OWN_SPREAD * spread(own)), WIDEST)


def known(
    takes: Mapping[str, Sequence[Embeddings]], tried: Mapping[str, Sequence[Embeddings]]
) -> int:
    """Return how many of the sounds in `tried` their words' other recordings would tell."""
    return sum(_is_known(word, sound, takes) for word, sounds in tried.items() for sound in sounds)


def _is_known(word: str, sound: Embeddings, takes: Mapping[str, Sequence[Embeddings]]) -> bool:
    own = [take for take in takes.get(word, ()) if take is not sound]
    others = [take for name, some in takes.items() if name != word for take in some]
    far = min(distances(sound, own), default=np.inf)
    second = min(distances(sound, others), default=np.inf)
    return far <= reach(own) and far <= _CLEARLY * second


class TaughtRecogniser(Recogniser):
    """Recognises taught words, with the embedder they were learnt with."""

    name = "taught"

    def __init__(self, lesson: Lesson, embedder: Embedder) -> None:
        self._lesson = lesson
        self._embedder = embedder
        takes = [(take, name) for name, word in lesson.words.items() for take in word.takes]
        self._takes = [take for take, _ in takes]
        self._names = [name for _, name in takes]
        self.expect(Vocabulary(frozenset(lesson.words)))

    def check(self) -> list[str]:
        """Return what keeps it from working, one plain line each."""
        if not self._lesson.words:
            return ["No words have been taught yet; run: companion teach"]
        return [
            f'The taught words "{one}" and "{other}" sound too much alike; teach another for one.'
            for one, other in self._lesson.too_close
        ]

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        """Return the phrases and number words that have not been taught."""
        return tuple(sorted(vocabulary.forms - self._lesson.words.keys()))

    def expect(self, vocabulary: Vocabulary) -> None:
        """Listen only for those of the taught words that are in `vocabulary`."""
        self._allowed = vocabulary.forms & self._lesson.words.keys()

    def finish(self, sound: bytes) -> Heard:
        """Say which taught word it was. Words not listened for now still draw sounds away."""
        samples = spoken_part(from_pcm16(sound))
        if not self._lesson.words or not len(samples):
            return Heard("", Refusal.UNKNOWN)
        return self._nearest(self._embedder.embed(samples))

    def _nearest(self, sound: Embeddings) -> Heard:
        nearest: dict[str, float] = {}
        for name, far in zip(self._names, distances(sound, self._takes), strict=True):
            nearest[name] = min(far, nearest.get(name, far))
        ranked = sorted((far, name) for name, far in nearest.items())
        distance, name = ranked[0]
        background = distances(sound, self._lesson.background) if distance <= WIDEST else []
        reach = self._lesson.words[name].reach
        score = max(0.0, 1.0 - distance / (2.0 * reach))
        is_other = distance > _CLEARLY * min(background, default=np.inf)
        if distance > reach or is_other or name not in self._allowed:
            return Heard("", Refusal.UNKNOWN, name, score=score)
        if len(ranked) > 1 and distance > _CLEARLY * ranked[1][0]:
            return Heard("", Refusal.UNSURE, name, score=score)
        return Heard(name, score=score)


def _clean(
    takes: Mapping[str, Sequence[Samples]], embedder: Embedder
) -> dict[str, tuple[Embeddings, ...]]:
    """Return the words that have recordings, these as they were made."""
    return {
        w: tuple(embedder.embed(spoken_part(t)) for t in own) for w, own in takes.items() if own
    }


def _near_pairs(embedded: Mapping[str, tuple[Embeddings, ...]]) -> tuple[tuple[str, str], ...]:
    names = sorted(embedded)
    return tuple(
        (one, other)
        for index, one in enumerate(names)
        for other in names[index + 1 :]
        if min(min(distances(take, embedded[other])) for take in embedded[one]) < _TOO_CLOSE
    )


def _with_noise(samples: Samples) -> Samples:
    noise = np.random.default_rng(0).standard_normal(len(samples))
    level = power(samples) * 10 ** (-_NOISE_DECIBELS / 20)
    return np.asarray(samples + noise * level, dtype=np.float32)


def _pieces(sound: Samples) -> list[Samples]:
    """Return a short sound whole, a longer one in pieces as long as a word, half overlapping."""
    if len(sound) <= _WHOLE_SECONDS * SAMPLE_RATE:
        return [spoken_part(sound)] if len(sound) else []
    size = round(_SLICE_SECONDS * SAMPLE_RATE)
    return [sound[at : at + size] for at in range(0, len(sound) - size + 1, size // 2)]
