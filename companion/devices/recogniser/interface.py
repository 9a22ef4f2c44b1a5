"""What every recogniser does: take one isolated sound, say which known words it was, or refuse it.

Our own voice activity detection cuts the sound out of the stream, so a recogniser never looks
for the beginning or end of speech itself, and answers once, at the end: exact and final. One that
has work to do before is fed while the word is still being said.
"""

import math
from enum import StrEnum

from companion.base.value import Value

SAMPLE_RATE = 16_000
"""Samples a second of every PCM block: 16 bit, little endian, one channel."""


class Refusal(StrEnum):
    """Why a sound was not taken; each is shown to the weaver as a plain line."""

    SHORT = "too short"
    LONG = "too long"
    JOINED = "not set apart by silence"
    QUIET = "too close to the noise around"
    DEAD_TIME = "too soon after the last command"
    SPEAKING = "while the companion was speaking"
    ECHO = "just what the companion had said"
    UNKNOWN = "not one of the words listened for"
    UNSURE = "not surely enough one word"
    TALK = "others are talking, so say it again"
    FAILED = "the recogniser failed"


class Heard(Value):
    """What a recogniser made of one sound."""

    words: str
    """A phrase of the vocabulary, or number words with one space between; "" when refused."""
    refusal: Refusal | None = None
    """Why, when `words` is empty."""
    nearest: str = ""
    """The nearest phrase when refused, to show the weaver ("heard something like done")."""
    is_likely: bool = False
    """Refused, yet likely the nearest phrase: said anew at once, and likely again, it counts."""
    spare: float = math.inf
    """How much surer it is than it must be in any room; natural logarithm, endless where a
    recogniser hears by no degrees. Below 0 it counts only in peace."""
    score: float = 0.0
    """How sure, 0 to 1, where that helps a second recogniser; each has a measure of its own."""


class Vocabulary(Value):
    """The spoken forms that may be returned, lower case, words parted by one space."""

    phrases: frozenset[str]
    """Each counts only as a whole."""
    numbers: frozenset[str] = frozenset()
    """Words that may also follow one another: "thirty seven", "one two three four"."""
    unlikely: frozenset[str] = frozenset()
    """Phrases that would lead nowhere now: a recogniser that hears by degrees asks more of them."""

    @property
    def forms(self) -> frozenset[str]:
        """Every phrase and number word in it."""
        return self.phrases | self.numbers

    @property
    def words(self) -> frozenset[str]:
        """Every single word in it, to look up in a recogniser's model."""
        return self.numbers | {word for phrase in self.phrases for word in phrase.split()}

    def allows(self, words: str) -> bool:
        """Whether `words` is a whole phrase, or nothing but number words."""
        parts = words.split()
        return words in self.phrases or (bool(parts) and all(p in self.numbers for p in parts))


class Recogniser:
    """One way of turning an isolated sound into words; what it leaves as it stands here knows none.

    All calls come from one thread, in the order `begin`, `feed`..., `finish`. A `begin`
    without a `finish` before it abandons the sound.
    """

    name = ""
    """Its name in settings and messages: "vosk", "taught" or "untaught"."""

    def check(self) -> list[str]:
        """Return what would keep it from working here, one plain line each; empty if ready."""
        return []

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        """Return the phrases and number words that cannot be recognised here, in order."""
        return tuple(sorted(vocabulary.forms))

    def expect(self, vocabulary: Vocabulary) -> None:
        """From the next sound on, return nothing outside `vocabulary`; what is missing is left.

        Raises ModelError if nothing of it can be recognised, or the model cannot be used.
        """

    def begin(self) -> None:
        """Start a sound."""

    def feed(self, pcm16: bytes) -> None:
        """Take the next piece of the sound: 16 kHz, 16 bit, one channel, any length."""

    def finish(self, sound: bytes) -> Heard:  # noqa: ARG002 - for those that know words
        """Say what the sound was, all that was fed; never returns words outside the vocabulary.

        Raises ModelError if the recogniser broke down; the sound is lost, the next one may work.
        """
        return Heard("", Refusal.UNKNOWN)
