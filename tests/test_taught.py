"""Taught words: near enough to their own recordings, clearly nearer than to any other.

Melodies of pure tones stand in for words and a small filter bank for the networks, so that what
is near and far is known beforehand. `test_taught_real.py` uses the networks and spoken words.
"""

from __future__ import annotations

import numpy as np
import pytest
from hearing_fakes import recognise

from companion.devices.recogniser.interface import Refusal, Vocabulary
from companion.devices.recogniser.taught import (
    WIDEST,
    Lesson,
    Samples,
    TaughtRecogniser,
    from_pcm16,
    learn,
    spoken_part,
)
from companion.devices.recogniser.teaching import Teaching, Verdict
from companion.devices.recogniser.warping import distances

BLOCK = 640
TONES = (300, 600, 900, 1200, 1500)
UP, DOWN, FLAT = (300, 600, 900), (900, 600, 300), (1500, 1500, 1200)


class BankEmbedder:
    """Embeds 40 ms blocks as the strength of five tones."""

    def embed(self, samples: Samples) -> Samples:
        whole = samples[: len(samples) // BLOCK * BLOCK].reshape(-1, BLOCK)
        times = np.arange(BLOCK) / 16_000
        bank = np.exp(2j * np.pi * np.outer(TONES, times))
        rows = np.abs(whole @ bank.T) + 1e-3
        return np.asarray(rows / np.linalg.norm(rows, axis=1, keepdims=True), np.float32)


def melody(tones: tuple[int, ...], seconds: float = 0.2, detune: float = 0.0) -> Samples:
    """Each tone for some seconds, at half of full scale."""
    times = np.arange(round(seconds * 16_000)) / 16_000
    parts = [0.5 * np.sin(2 * np.pi * (tone + detune) * times) for tone in tones]
    return np.concatenate(parts).astype(np.float32)


def pcm(samples: Samples) -> bytes:
    return (samples * 32767).astype("<i2").tobytes()


@pytest.fixture
def lesson() -> Lesson:
    takes = {
        name: [melody(tones, 0.2, detune) for detune in (0.0, 1.0, 2.0)]
        for name, tones in (("done", UP), ("go back", DOWN), ("repeat", FLAT))
    }
    return learn(takes, (), BankEmbedder())


def test_a_word_is_known_at_another_speed(lesson: Lesson) -> None:
    """Said half as long again it is the same word: time warping takes the tempo out."""
    recogniser = TaughtRecogniser(lesson, BankEmbedder())
    assert recognise(recogniser, pcm(melody(UP, 0.3))).words == "done"
    assert recognise(recogniser, pcm(melody(DOWN, 0.15))).words == "go back"


def test_another_sound_is_refused_with_the_word_it_came_nearest_to(lesson: Lesson) -> None:
    """A melody never taught is not a command."""
    heard = recognise(TaughtRecogniser(lesson, BankEmbedder()), pcm(melody((1500, 300, 1500))))
    assert heard.words == ""
    assert heard.refusal is Refusal.UNKNOWN
    assert heard.nearest == "repeat"


def test_a_word_not_listened_for_now_draws_its_sound_away(lesson: Lesson) -> None:
    """ "go back" is not forced onto another word when only "done" is listened for."""
    recogniser = TaughtRecogniser(lesson, BankEmbedder())
    recogniser.expect(Vocabulary(frozenset({"done"})))
    assert recognise(recogniser, pcm(melody(DOWN))).refusal is Refusal.UNKNOWN
    assert recognise(recogniser, pcm(melody(UP))).words == "done"


def test_what_was_not_taught_is_named(lesson: Lesson) -> None:
    """The weaver is told which of the commands she has not recorded."""
    vocabulary = Vocabulary(frozenset({"done", "undo"}), frozenset({"one"}))
    assert TaughtRecogniser(lesson, BankEmbedder()).missing(vocabulary) == ("one", "undo")


def test_nothing_taught_is_a_plain_problem() -> None:
    """Without recordings it says what to run, and refuses every sound."""
    recogniser = TaughtRecogniser(learn({}, (), BankEmbedder()), BankEmbedder())
    assert recogniser.check() == ["No words have been taught yet; run: companion teach"]
    assert recognise(recogniser, pcm(melody(UP))).refusal is Refusal.UNKNOWN


def test_words_too_much_alike_are_named() -> None:
    """Two words recorded with one melody are reported as a pair and never told apart."""
    takes = {"done": [melody(UP), melody(UP)], "go back": [melody(UP, detune=1)] * 2}
    recogniser = TaughtRecogniser(learn(takes, (), BankEmbedder()), BankEmbedder())
    (problem,) = recogniser.check()
    assert '"done" and "go back" sound too much alike' in problem
    assert recognise(recogniser, pcm(melody(UP, detune=0.5))).words == ""


def test_a_sound_nearer_to_the_background_is_refused() -> None:
    """A radio jingle like a word is no longer taken for it once it is known as background."""
    takes = {"done": [melody(UP), melody(UP, detune=4)]}
    jingle = melody(UP, detune=12)
    free = TaughtRecogniser(learn(takes, (), BankEmbedder()), BankEmbedder())
    warned = TaughtRecogniser(learn(takes, [jingle], BankEmbedder()), BankEmbedder())
    assert recognise(free, pcm(jingle)).words == "done"
    assert recognise(warned, pcm(jingle)).refusal is Refusal.UNKNOWN
    assert recognise(warned, pcm(melody(UP, detune=1))).words == "done"


def test_a_loosely_spoken_word_reaches_no_farther_than_the_limit() -> None:
    """Takes that differ much do not make a word that swallows everything."""
    takes = {"done": [melody(UP), melody((300, 600, 1200)), melody((300, 300, 900))]}
    assert learn(takes, (), BankEmbedder()).words["done"].reach == WIDEST


def test_distance_is_nothing_to_itself_and_grows_with_difference() -> None:
    """Warping a row onto itself, onto itself twice as slow, and onto another melody."""
    up = BankEmbedder().embed(melody(UP))
    slow = np.repeat(up, 2, axis=0)
    down = BankEmbedder().embed(melody(DOWN))
    same, slower, other = distances(up, [up, slow, down])
    assert same == pytest.approx(0.0, abs=1e-6)
    assert slower == pytest.approx(0.0, abs=1e-6)
    assert other > 0.1


def test_distance_does_not_depend_on_the_company() -> None:
    """A template's distance is the same alone and beside longer ones."""
    up, down = BankEmbedder().embed(melody(UP)), BankEmbedder().embed(melody(DOWN, 0.5))
    assert distances(up, [down]) == [distances(up, [up, down])[1]]


def test_silence_round_a_word_is_cut_off() -> None:
    """A second of quiet noise on either side goes; the word and a small margin stay."""
    noise = np.random.default_rng(1).standard_normal(16_000).astype(np.float32) * 1e-3
    kept = spoken_part(np.concatenate([noise, melody(UP), noise]))
    assert 0.6 <= len(kept) / 16_000 <= 0.8


def test_a_take_unlike_the_others_is_asked_for_again() -> None:
    """A slip of the tongue is not learnt: the odd take is refused and the count does not move."""
    teaching = Teaching(("done", "go back"), 3, BankEmbedder())
    teaching.add(pcm(melody(UP)))
    teaching.add(pcm(melody(UP, detune=1)))
    assert teaching.add(pcm(melody(FLAT))).verdict is Verdict.UNLIKE
    assert teaching.takes_left == 1
    assert teaching.add(pcm(melody(UP, detune=2))).verdict is Verdict.KEPT
    assert teaching.word == "go back"


def test_two_first_takes_that_differ_are_both_dropped() -> None:
    """With two takes nobody can say which is wrong, so the word starts again."""
    teaching = Teaching(("done",), 3, BankEmbedder())
    teaching.add(pcm(melody(UP)))
    assert teaching.add(pcm(melody(DOWN))).verdict is Verdict.UNLIKE
    assert teaching.takes_left == 3


def test_a_word_like_one_already_taught_is_refused_at_once() -> None:
    """The weaver hears while teaching that two commands would be confused."""
    teaching = Teaching(("done", "go back"), 3, BankEmbedder())
    for detune in (0, 1, 2):
        teaching.add(pcm(melody(UP, detune=detune)))
    take = teaching.add(pcm(melody(UP, detune=1)))
    assert (take.verdict, take.other) == (Verdict.LIKE_OTHER, "done")


def test_teaching_ends_in_a_lesson_that_recognises() -> None:
    """All takes given, the words are known."""
    teaching = Teaching(("done", "go back"), 3, BankEmbedder())
    while teaching.word:
        teaching.add(pcm(melody(UP if teaching.word == "done" else DOWN)))
    sounds = {word: list(map(from_pcm16, takes)) for word, takes in teaching.takes.items()}
    recogniser = TaughtRecogniser(learn(sounds, (), BankEmbedder()), BankEmbedder())
    assert recogniser.check() == []
    assert recognise(recogniser, pcm(melody(DOWN, 0.25))).words == "go back"


def test_pcm_is_read_at_full_scale() -> None:
    """The largest negative 16 bit value is minus one."""
    assert from_pcm16(b"\x00\x80")[0] == -1.0
