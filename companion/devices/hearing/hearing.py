"""Decide which recognised sounds count: not while we speak, not twice, exact and final."""

import re
from collections import deque
from dataclasses import dataclass

from companion.base.numerals import plain
from companion.devices.hearing.segmenter import Cut, Dropped, Ended, Segmenter
from companion.devices.hearing.settings import FRAME_SECONDS, HearingSettings
from companion.devices.recogniser.interface import Heard, Refusal, Vocabulary

_AUDIBLE = frozenset(
    {Refusal.UNKNOWN, Refusal.UNSURE, Refusal.TALK, Refusal.SPEAKING, Refusal.ECHO, Refusal.FAILED}
)
_NO_COMMAND = frozenset({Refusal.UNKNOWN, Refusal.LONG, Refusal.JOINED})


@dataclass(frozen=True, slots=True)
class Accepted:
    """Words that count."""

    words: str
    start_seconds: float
    """Where the sound begins, in seconds of sound since the first frame."""
    end_seconds: float
    asks_back: bool
    """Whether the weaver must confirm before it is acted on."""


@dataclass(frozen=True, slots=True)
class Refused:
    """A sound that does not count."""

    refusal: Refusal
    start_seconds: float
    end_seconds: float
    nearest: str = ""
    """The word it came nearest to, or was, when that is known."""
    clear_decibels: float | None = None
    """How far its loudest frame stood above the room, where it went to the recogniser."""

    @property
    def is_audible(self) -> bool:
        """Whether the refusing tone is due: it stood alone as a command does, yet was not one."""
        return self.refusal in _AUDIBLE


Judgement = Accepted | Refused


class Hearing:
    """The rules. Give `frame` every frame; recognise between `Begun` and `Ended`; then `judge`."""

    def __init__(self, settings: HearingSettings, vocabulary: Vocabulary) -> None:
        self._settings = settings
        self._segmenter = Segmenter(settings)
        self._dead_until = 0.0
        self._likely = ("", 0.0)
        self._others = deque[float](maxlen=settings.talk_sounds)
        self._deaf_from: float | None = None
        self._deaf_until = 0.0
        self._said: tuple[str, ...] = ()
        self._heard_again_at = -self._settings.silence_before_seconds
        self.expect(vocabulary)

    @property
    def seconds(self) -> float:
        """Seconds of sound taken so far."""
        return self._segmenter.seconds

    @property
    def floor_dbfs(self) -> float:
        """The noise floor now."""
        return self._segmenter.floor_dbfs

    def expect(self, vocabulary: Vocabulary) -> None:
        """From now on let only these spoken forms count."""
        self._vocabulary = vocabulary
        self._segmenter.allows_long = bool(vocabulary.numbers)

    def mind_voice(self, said: str = "", *, is_sounding: bool) -> None:
        """Be deaf while our own voice sounds, which says this or said it last, and for the tail."""
        if is_sounding and self._deaf_from is None:
            self._deaf_from = self.seconds
        elif not is_sounding and self._deaf_from is not None:
            self._said = _words(said)
            capped = self._deaf_from + self._settings.longest_deaf_seconds
            self._deaf_from = None
            self._deaf_until = min(capped, self.seconds + self._settings.tail_seconds)

    @property
    def is_deaf(self) -> bool:
        """Whether our own voice is sounding, or has just stopped; never for longer than the cap."""
        if self._deaf_from is None:
            return self.seconds < self._deaf_until
        return self.seconds < self._deaf_from + self._settings.longest_deaf_seconds

    def frame(self, probability: float, level_dbfs: float) -> Cut | None:
        """Take one frame's voice probability (0 to 1) and level in dBFS."""
        if self.is_deaf and not self._settings.has_headphones:
            self._segmenter.pass_over()
            self._heard_again_at = self.seconds
            return None
        return self._segmenter.frame(probability, level_dbfs)

    def break_off(self) -> None:
        """Forget a sound under way, because a piece of it was lost."""
        self._segmenter.break_off()

    def drop(self, dropped: Dropped) -> Refused:
        """Report a sound that needed no recogniser to refuse."""
        refusal = dropped.refusal
        since_voice = dropped.start_seconds - self._heard_again_at
        if refusal is Refusal.JOINED and since_voice < self._settings.silence_before_seconds:
            refusal = Refusal.SPEAKING
        return self._refused(refusal, dropped)

    def judge(self, sound: Ended, heard: Heard) -> Judgement:
        """Say whether what was heard counts, now that its sound is over."""
        clear = sound.peak_dbfs - self.floor_dbfs
        heard = self._said_again(sound, self._in_this_room(sound, heard, clear))
        refusal = self._refusal(sound, heard)
        if refusal is not None:
            return self._refused(refusal, sound, heard.words or heard.nearest, clear)
        self._segmenter.know_voice(sound.peak_dbfs)
        self._dead_until = sound.end_seconds + self._settings.dead_time_seconds
        return Accepted(
            heard.words,
            sound.start_seconds,
            sound.end_seconds,
            asks_back=heard.words in self._settings.ask_back_words,
        )

    def _refused(
        self,
        refusal: Refusal,
        sound: Ended | Dropped,
        nearest: str = "",
        clear: float | None = None,
    ) -> Refused:
        if refusal in _NO_COMMAND:
            self._others.append(sound.end_seconds)
        return Refused(refusal, sound.start_seconds, sound.end_seconds, nearest, clear)

    def _is_talk(self, sound: Ended) -> bool:
        """Whether other people were talking when a sound began."""
        oldest = sound.start_seconds - self._settings.talk_seconds
        return len(self._others) == self._settings.talk_sounds and self._others[0] >= oldest

    def _in_this_room(self, sound: Ended, heard: Heard, clear_decibels: float) -> Heard:
        """Return a word that is sure enough among others' talk, in noise or in peace, or none."""
        if self._is_talk(sound):
            least, refusal = self._settings.talk_spare, Refusal.TALK
        elif clear_decibels < self._settings.drowned_decibels:
            least, refusal = 0.0, Refusal.UNSURE
        else:
            return heard
        if not heard.words or heard.spare >= least:
            return heard
        return Heard("", refusal, heard.words, is_likely=True)

    def _said_again(self, sound: Ended, heard: Heard) -> Heard:
        """Return the word that is likely twice on end; other speech seldom says a thing twice."""
        (word, until), self._likely = self._likely, ("", 0.0)
        if not heard.is_likely:
            return heard
        if heard.nearest == word and sound.start_seconds <= until:
            return Heard(word)
        self._likely = (heard.nearest, sound.end_seconds + self._settings.again_seconds)
        return heard

    def _refusal(self, sound: Ended, heard: Heard) -> Refusal | None:
        if not heard.words:
            return heard.refusal or Refusal.UNKNOWN
        if not self._vocabulary.allows(heard.words):
            return Refusal.UNKNOWN
        if self.is_deaf and heard.words not in self._settings.through_words:
            return Refusal.SPEAKING
        if self._is_echo(sound, heard.words):
            return Refusal.ECHO
        if heard.words in self._vocabulary.phrases:
            return self._phrase_refusal(sound)
        return None

    def _is_echo(self, sound: Ended, words: str) -> bool:
        """Return whether words, right after our own voice, repeat what it ended on."""
        is_soon = sound.start_seconds - self._heard_again_at < self._settings.echo_seconds
        heard = _words(words)
        return is_soon and self._said[-len(heard) :] == heard

    def _phrase_refusal(self, sound: Ended) -> Refusal | None:
        if sound.end_seconds - sound.start_seconds > self._settings.longest_seconds + FRAME_SECONDS:
            return Refusal.LONG
        return Refusal.DEAD_TIME if sound.start_seconds < self._dead_until else None


def _words(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r"\w+", plain(text)))
