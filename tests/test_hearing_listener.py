"""From PCM to reports, with a recogniser and a detector written by hand."""

from __future__ import annotations

import numpy as np
import pytest

from companion.base.errors import ModelError
from companion.devices.hearing.hearing import Accepted, Judgement, Refused
from companion.devices.hearing.listener import Listener, level_dbfs
from companion.devices.recogniser.interface import Heard, Recogniser, Refusal, Vocabulary

COMMANDS = Vocabulary(frozenset({"done", "go back"}))
COUNTS = Vocabulary(frozenset({"done"}), frozenset({"one", "two"}))


def loud_activity(frame: bytes) -> float:
    """Take whatever is loud for a voice."""
    return 0.95 if level_dbfs(frame) > -40 else 0.02


class ScriptedRecogniser(Recogniser):
    """Says what it is told to, and remembers what it was given."""

    name = "scripted"

    def __init__(self, *answers: str | ModelError) -> None:
        self._answers = list(answers)
        self.vocabularies: list[Vocabulary] = []
        self.sounds: list[bytes] = []

    def missing(self, vocabulary: Vocabulary) -> tuple[str, ...]:
        return tuple(sorted(vocabulary.phrases - {"done", "go back"}))

    def expect(self, vocabulary: Vocabulary) -> None:
        self.vocabularies.append(vocabulary)

    def begin(self) -> None:
        self.sounds.append(b"")

    def feed(self, pcm16: bytes) -> None:
        self.sounds[-1] += pcm16

    def finish(self, sound: bytes) -> Heard:
        assert sound == self.sounds[-1]
        answer = self._answers.pop(0)
        if isinstance(answer, ModelError):
            raise answer
        return Heard(answer)


def silence(seconds: float) -> bytes:
    return bytes(round(seconds * 16_000) * 2)


def tone(seconds: float) -> bytes:
    times = np.arange(round(seconds * 16_000)) / 16_000
    return bytes((np.sin(2 * np.pi * 440 * times) * 8000).astype("<i2").tobytes())


def words(reports: list[Judgement]) -> list[str | Refusal]:
    return [r.words if isinstance(r, Accepted) else r.refusal for r in reports]


def test_a_word_goes_from_sound_to_report() -> None:
    """One sound between silences is fed with its lead and reported once, with its times."""
    recogniser = ScriptedRecogniser("done")
    listener = Listener(recogniser, loud_activity, COMMANDS)
    (report,) = listener.feed(silence(1.0) + tone(0.5) + silence(0.5))
    assert isinstance(report, Accepted)
    assert report.start_seconds == pytest.approx(1.0, abs=0.04)
    assert len(recogniser.sounds[0]) / 32_000 == pytest.approx(0.26 + 0.5 + 0.22, abs=0.1)


def test_blocks_of_any_size_give_the_same() -> None:
    """Whatever the microphone's block, byte for byte the recogniser hears the same."""
    stream, heard = silence(1.0) + tone(0.5) + silence(0.5), []
    for block in (2, 882, 1024, 48_000, len(stream)):
        recogniser = ScriptedRecogniser("done")
        listener = Listener(recogniser, loud_activity, COMMANDS)
        for at in range(0, len(stream), block):
            listener.feed(stream[at : at + block])
        heard.append(recogniser.sounds)
    assert all(sounds == heard[0] for sounds in heard)


def test_a_new_vocabulary_waits_for_the_sound_under_way() -> None:
    """What is said while the question changes is still judged by the old list."""
    recogniser = ScriptedRecogniser("go back", "two one")
    listener = Listener(recogniser, loud_activity, COMMANDS)
    listener.feed(silence(1.0) + tone(0.3))
    listener.expect(COUNTS)
    assert recogniser.vocabularies == [COMMANDS]
    assert words(listener.feed(tone(0.2) + silence(1.0))) == ["go back"]
    assert words(listener.feed(tone(0.5) + silence(0.5))) == ["two one"]
    assert recogniser.vocabularies == [COMMANDS, COUNTS]


def test_lost_sound_spoils_the_word_under_way_only() -> None:
    """A command is never taken from sound with a hole in it; the next one is."""
    listener = Listener(ScriptedRecogniser("done"), loud_activity, COMMANDS)
    listener.feed(silence(1.0) + tone(0.3))
    listener.gap()
    assert words(listener.feed(tone(0.3) + silence(1.0))) == [Refusal.JOINED]
    assert words(listener.feed(tone(0.5) + silence(0.5))) == ["done"]


def test_a_recogniser_that_breaks_down_costs_one_sound() -> None:
    """The report says why, and the next word is heard."""
    broken = ModelError("the model is damaged; add it again.")
    listener = Listener(ScriptedRecogniser(broken, "done"), loud_activity, COMMANDS)
    first, second = listener.feed((silence(1.0) + tone(0.5)) * 2 + silence(0.5))
    assert isinstance(first, Refused)
    assert (first.refusal, first.nearest) == (Refusal.FAILED, str(broken))
    assert isinstance(second, Accepted)


def test_our_own_voice_is_not_recognised() -> None:
    """While we speak nothing reaches the recogniser; after the tail and a pause it does."""
    recogniser = ScriptedRecogniser("done")
    listener = Listener(recogniser, loud_activity, COMMANDS)
    listener.feed(silence(1.0))
    listener.hearing.mind_voice(is_sounding=True)
    assert listener.feed(tone(0.5) + silence(1.0)) == []
    assert recogniser.sounds == []
    listener.hearing.mind_voice(is_sounding=False)
    assert words(listener.feed(silence(0.6) + tone(0.5) + silence(0.5))) == ["done"]


def test_level_is_in_decibels_below_full_scale() -> None:
    """A full scale square wave is 0 dBFS, half of it 6 dB less; silence is bounded."""
    full, half = np.full(512, 32767, "<i2"), np.full(512, 16384, "<i2")
    assert level_dbfs(full.tobytes()) == pytest.approx(0.0, abs=0.01)
    assert level_dbfs(half.tobytes()) == pytest.approx(-6.02, abs=0.01)
    assert level_dbfs(bytes(1024)) == -100.0
