"""A teaching session: each word said a few times, what will not do told at once, all of it kept."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, cached_property

from companion.base.lines import Tell
from companion.devices.audio.clip import SAMPLE_BYTES
from companion.devices.audio.microphone import Microphone
from companion.devices.audio.tones import ToneName
from companion.devices.hearing.hearing import Judgement, Refused
from companion.devices.hearing.listener import Listener
from companion.devices.recogniser import samples
from companion.devices.recogniser.activity import VoiceActivity
from companion.devices.recogniser.embedding import Embedder, SpeechEmbedder
from companion.devices.recogniser.interface import SAMPLE_RATE, Recogniser, Refusal, Vocabulary
from companion.devices.recogniser.taught import from_pcm16, known, sounding_alike, spoken_part
from companion.devices.recogniser.teaching import MOST_TAKES, Teaching, Verdict
from companion.devices.recogniser.untaught import heard_forms
from companion.devices.speech import Voice
from companion.session.listening import Asking
from companion.session.recognisers import taught_folder
from companion.session.spoken import BASIC, lacking, to_ask_for, vocabulary
from companion.wording import hearing as wording
from companion.wording import score as score_wording


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
            return score_wording.NOTHING_TAUGHT
        embed = cache(lambda sound: self.embedder.embed(spoken_part(from_pcm16(sound))))
        before = {word: [embed(take) for take in takes] for word, takes in old.items()}
        after = before | {word: [embed(take) for take in takes] for word, takes in more.items()}
        tried = {word: {id(e): e for e in (*before[word], *after[word])}.values() for word in after}
        every = {word: list(sounds) for word, sounds in tried.items()}
        was, now = known(before, every), known(after, every)
        if now < was:
            return score_wording.lesson_kept(now, was, sum(map(len, every.values())))
        self._save(samples.SampleSet({**old, **more}, self._samples.background))
        return score_wording.lesson_better(", ".join(more))

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
        for one, other in sounding_alike(takes, self.embedder):
            yield wording.too_alike(one, other)
        if self.lacking:
            yield wording.to_teach(", ".join(self.lacking))
        yield wording.kept_words(len(self._samples.words), str(self._folder))

    def _save(self, kept: samples.SampleSet) -> None:
        samples.save(self._folder, kept)
        self._samples = kept


ROOM_SECONDS = 20.0
"""How much of the room and of ordinary talk is recorded, to tell the words from."""


class LessonSitting(Asking):
    """Takes the recordings of words, one after another."""

    def __init__(
        self, microphone: Microphone, activity: VoiceActivity, voice: Voice, tell: Tell
    ) -> None:
        listener = Listener(Recogniser(), activity, Vocabulary(frozenset()))
        super().__init__(microphone, listener, voice, tell)

    def teach(
        self,
        words: Sequence[str],
        takes: int,
        embedder: Embedder,
        keep: Callable[[str, tuple[bytes, ...]], None],
    ) -> tuple[str, ...]:
        """Take the recordings, `keep` each word once its are there, and return the unfinished."""
        teaching = Teaching(words, takes, embedder)
        self._ask(teaching)
        for block in self._blocks:
            for report in self._heard(block):
                word = teaching.word
                self._judge(teaching, report)
                if teaching.word != word:
                    keep(word, tuple(teaching.takes[word]))
                    self._ask(teaching)
            if not teaching.word:
                return ()
        return tuple(words[words.index(teaching.word) :])

    def room(self) -> bytes:
        """Return the sound of the room and of ordinary talk: 16 kHz, 16 bit, one channel."""
        self._prompt(wording.talk_freely(ROOM_SECONDS))
        taken = b""
        for block in self._blocks:
            if not self._voice.is_speaking:
                taken += block.pcm16
            if len(taken) >= ROOM_SECONDS * SAMPLE_RATE * SAMPLE_BYTES:
                break
        return taken

    def close(self) -> None:
        """Let the microphone go."""
        self._microphone.close()
        for _ in self._blocks:
            pass  # a closed microphone ends here, and gives the device back

    def _judge(self, teaching: Teaching, report: Judgement) -> None:
        if not isinstance(report, Refused) or report.refusal is Refusal.SPEAKING:
            return
        if report.refusal is not Refusal.UNKNOWN:
            self._again(wording.say_again(report.refusal))
            return
        word, number = teaching.word, len(teaching.takes.get(teaching.word, ())) + 1
        take = teaching.add(self._listener.sound)
        if take.verdict is Verdict.KEPT:
            self._tell(wording.kept(word, number))
            self._voice.play([ToneName.CONFIRM])
        else:
            self._again(wording.say_again(take.verdict, take.other))

    def _ask(self, teaching: Teaching) -> None:
        if teaching.word:
            self._prompt(wording.say_word(teaching.word, teaching.takes_left))

    def _again(self, line: str) -> None:
        self._tell(line)
        self._voice.play([ToneName.REFUSE, line])
