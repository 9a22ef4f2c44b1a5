"""The built-in recogniser on phrases said by flite's voice; what it cannot do it must not try."""

from __future__ import annotations

import shutil
import subprocess
import wave
from importlib.util import find_spec
from typing import TYPE_CHECKING

import pytest

from companion.devices.recogniser.builtin import LEAST_SOUNDS, BuiltInRecogniser
from companion.devices.recogniser.interface import Vocabulary, recognise
from companion.devices.recogniser.pronouncing import english

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    find_spec("pocketsphinx") is None or shutil.which("flite") is None,
    reason="needs pocketsphinx and flite",
)
LONG = {"next one", "say again", "where am i", "stop for today"}
PHRASES = frozenset(LONG | {"done", "no", "count one", "count two", "count fifteen"})
VOCABULARY = Vocabulary(PHRASES, frozenset({"four"}))


@pytest.fixture(scope="module")
def recogniser() -> BuiltInRecogniser:
    made = BuiltInRecogniser()
    made.expect(VOCABULARY)
    return made


def said(words: str, folder: Path) -> bytes:
    """Return words spoken by flite, with a quarter of a second of silence round them."""
    file = folder / "said.wav"
    command = ["flite", "-voice", "slt", "-t", words, "-o", str(file)]
    subprocess.run(command, check=True, timeout=60)
    with wave.open(str(file)) as sound:
        assert sound.getframerate() == 16_000
        return bytes(8000) + bytes(sound.readframes(sound.getnframes())) + bytes(8000)


@pytest.mark.parametrize("words", sorted(LONG))
def test_long_phrases_are_heard(recogniser: BuiltInRecogniser, tmp_path: Path, words: str) -> None:
    """Each phrase of six sounds or more is known."""
    assert recognise(recogniser, said(words, tmp_path)).words == words


@pytest.mark.parametrize(
    "words", ["my brother", "dinner time", "in the kitchen", "never mind", "done", "no"]
)
def test_other_speech_and_short_words_are_refused(
    recogniser: BuiltInRecogniser, tmp_path: Path, words: str
) -> None:
    """Talk is not forced onto a phrase, nor are words it cannot tell apart taken."""
    heard = recognise(recogniser, said(words, tmp_path))
    assert heard.words == ""
    assert heard.refusal is not None


def test_what_it_does_not_listen_for_is_named(recogniser: BuiltInRecogniser) -> None:
    """Short words and all numbers are told beforehand, so that keys are used for them."""
    assert recogniser.missing(VOCABULARY) == (
        "count fifteen",
        "count one",
        "count two",
        "done",
        "four",
        "no",
    )
    assert all(len(english(word)[0]) < LEAST_SOUNDS for word in ("done", "no"))


def test_only_what_is_expected_is_returned(recogniser: BuiltInRecogniser, tmp_path: Path) -> None:
    """After the vocabulary changes, a phrase of the old one is other speech."""
    recogniser.expect(Vocabulary(frozenset({"say again"})))
    assert recognise(recogniser, said("stop for today", tmp_path)).words == ""
    recogniser.expect(VOCABULARY)
    assert recognise(recogniser, said("stop for today", tmp_path)).words == "stop for today"


def test_nothing_said_is_nothing_heard(recogniser: BuiltInRecogniser) -> None:
    """An empty sound is refused."""
    assert recognise(recogniser, b"").words == ""
