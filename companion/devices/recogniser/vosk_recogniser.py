"""Recognising commands with vosk and a model folder on this machine; never with the network.

What vosk 0.3.45 does that this module works round (read in its source, alphacep/vosk-api):
the list of phrases becomes a model of word pairs, so that phrases mix, and only an answer that is
a whole form of the vocabulary counts; words the model lacks are dropped with a log line, so each
is looked up first; the list must be given as plain UTF-8, as escaped letters are not understood;
`Model(model_name=...)` and `Model(lang=...)` download, so that only `model_path` is ever used.
"""

import json
from importlib import import_module
from pathlib import Path
from typing import Any

from companion.base.errors import ModelError
from companion.base.value import Value
from companion.devices.recogniser.decoys import decoys
from companion.devices.recogniser.interface import (
    SAMPLE_RATE,
    Heard,
    Recogniser,
    Refusal,
    Vocabulary,
)
from companion.devices.recogniser.record import faults
from companion.devices.recogniser.wordlist import WordList

_INSTALL = 'Install it with `pip install "companion[hearing]"`.'
_UNKNOWN = ("[unk]", "<unk>", "<UNK>")
"""What models call a word they do not have; each is listened for where the model has it."""
LEAST_CONFIDENCE = 0.9
"""With decoys to compete, confidence falls where another word fits as well; without them it means
nothing. Measured by tests/bench/bench_vosk.py."""


class _Answer(Value):
    text: str
    confidence: float


class VoskRecogniser(Recogniser):
    """Listens for the phrases of a vocabulary with a vosk model.

    Args:
        folder: the model's folder.
        language: picks the decoys; "" goes without, and then confidence is not judged.
        least_confidence: of every word, 0 to 1, for a command to count.
    """

    name = "vosk"

    def __init__(
        self, folder: Path, language: str = "", least_confidence: float = LEAST_CONFIDENCE
    ) -> None:
        self._folder = folder
        self._least_confidence = least_confidence
        self._decoys = decoys(language)
        self._is_sound = False
        self._model: Any = None
        self._recogniser: Any = None
        self._words = WordList(Vocabulary(frozenset()), self._knows)
        self._answers: list[_Answer] = []
        self._is_under_way = False

    def check(self) -> list[str]:
        """Return what keeps it from working, one line each.

        A model that was not added by `companion models add` is tried in another process,
        which takes some seconds.
        """
        try:
            import_module("vosk")
        except (ImportError, OSError) as error:
            return [f"vosk cannot be loaded ({error}). {_INSTALL}"]
        found = faults(self._folder)
        self._is_sound = not found
        return found

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        """Return the phrases and number words that the model has no words for."""
        return WordList(vocabulary, self._knows).missing

    def expect(self, vocabulary: Vocabulary) -> None:
        """From the next sound on, return nothing outside `vocabulary`; what is missing is left.

        Raises ModelError where the model cannot be used, or has no word of the vocabulary.
        """
        self._words = WordList(vocabulary, self._knows)
        if not self._words.grammar:
            raise ModelError(
                f"{self._folder.name}: the model has none of the words to listen for. "
                "Choose a model of the language that the commands are in."
            )
        grammar = [*self._words.grammar, *self._competing(vocabulary)]
        vosk = import_module("vosk")
        self._recogniser = vosk.KaldiRecognizer(
            self._loaded(), SAMPLE_RATE, json.dumps(grammar, ensure_ascii=False)
        )
        self._recogniser.SetWords(True)
        self._is_under_way = False

    def begin(self) -> None:
        """Start a sound."""
        # After a final result vosk starts afresh; after Reset() it would go on from the sound that
        # was abandoned (src/recognizer.cc, CleanUp).
        if self._is_under_way:
            self._recogniser.FinalResult()
        self._answers = []

    def feed(self, pcm16: bytes) -> None:
        """Take the next piece of the sound: 16 kHz, 16 bit, one channel, any length."""
        self._is_under_way = True
        try:
            is_part_over = self._recogniser.AcceptWaveform(pcm16)
        except Exception as error:  # vosk raises nothing narrower
            raise ModelError("vosk failed on this sound. Say it again.") from error
        if is_part_over:  # vosk's own endpoint, at a pause inside a row of numbers
            self._answers.append(_answer(self._recogniser.Result()))

    def finish(self, sound: bytes) -> Heard:  # noqa: ARG002 - it has been fed
        """Say what the sound was. Never returns words outside the vocabulary."""
        self._answers.append(_answer(self._recogniser.FinalResult()))
        self._is_under_way = False
        parts = [answer for answer in self._answers if answer.text]
        text = " ".join(answer.text for answer in parts)
        confidence = min((answer.confidence for answer in parts), default=0.0)
        words = self._words.form(text)
        if not words:
            return Heard("", Refusal.UNKNOWN, text, score=confidence)
        if self._decoys and confidence < self._least_confidence:
            return Heard("", Refusal.UNSURE, words, score=confidence)
        return Heard(words, score=confidence)

    def _competing(self, vocabulary: Vocabulary) -> list[str]:
        """Return the decoys that the model has and the vocabulary has not."""
        wanted = vocabulary.words | {word for each in self._words.grammar for word in each.split()}
        offered = dict.fromkeys((*self._decoys, *_UNKNOWN))
        return [word for word in offered if word not in wanted and self._knows(word)]

    def _knows(self, word: str) -> bool:
        return bool(self._loaded().vosk_model_find_word(word) >= 0)

    def _loaded(self) -> Any:
        """Return the model, loaded at first use: some seconds and hundreds of megabytes."""
        if self._model is None:
            found = [] if self._is_sound else self.check()
            if found:
                raise ModelError(found[0])
            vosk = import_module("vosk")
            vosk.SetLogLevel(-1)
            try:
                self._model = vosk.Model(model_path=str(self._folder.absolute()))
            except Exception as error:  # vosk raises nothing narrower
                raise ModelError(
                    f"{self._folder.name}: the model cannot be loaded. Get it again."
                ) from error
        return self._model


def _answer(result: str) -> _Answer:
    """Read one result; its confidence is that of its least sure word, 0 to 1."""
    fields = json.loads(result)
    words = fields.get("result", [])
    return _Answer(fields.get("text", ""), min((word["conf"] for word in words), default=0.0))
