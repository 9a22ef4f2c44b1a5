# ruff: noqa: RUF001 - sounds are written in their own signs
"""The natural voice: offline, alike each time, as fast as it is told, and replaced if it fails."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from fakes import FakeMaker, hum

from companion.base.errors import SpeechError
from companion.devices.audio import wav
from companion.devices.audio.clip import from_samples, trimmed
from companion.devices.engines.natural import spelled
from companion.devices.engines.stretch import stretched
from companion.devices.speech.clips import Clips
from companion.devices.speech.make import engines_for, is_installed
from companion.devices.speech.store import ClipStore
from companion.devices.speech.synthesis import Synthesiser

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from companion.devices.audio.clip import Clip
    from companion.devices.speech.synthesis import EngineName
    from companion.settings.schema import Engine

pytestmark = pytest.mark.skipif(not is_installed(), reason="hibari-tts is not installed")
needs = {
    tool: pytest.mark.skipif(shutil.which(tool) is None, reason=f"{tool} is not installed")
    for tool in ("espeak-ng", "sox")
}
CALLOUTS = (
    "end thirty seven: shaft one, dent thirty seven",
    "end one hundred and five: shaft four, dent one hundred and five",
    "Group one is complete. How many ends are in heddles?",
    "shaft one, dent fifty",
)
REFUSED = """
import os, socket
def refuse(*arguments, **_):
    with open(os.environ["ASKED_OF_NETWORK"], "a") as file:
        file.write(f"{arguments!r}\\n")
    raise OSError("the test refuses the network")
socket.socket.connect = socket.socket.connect_ex = refuse
socket.getaddrinfo = socket.create_connection = refuse
"""


@pytest.fixture(scope="module")
def natural() -> Iterator[Synthesiser]:
    """Give the real engine, in its worker."""
    synthesiser = Synthesiser("natural", "", pytest.fail)
    yield synthesiser
    synthesiser.close()


@pytest.fixture(scope="module")
def network() -> Any:
    """Give the package's own network, loaded once."""
    return pytest.importorskip("hibari").Hibari()


@pytest.fixture(scope="module")
def system() -> Iterator[Synthesiser]:
    """Give the system's engine, in its worker."""
    synthesiser = Synthesiser("system", "", pytest.fail)
    yield synthesiser
    synthesiser.close()


def test_it_speaks_alike_in_every_process_and_asks_no_network(
    natural: Synthesiser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clip made today fits beside those made and kept before; every network call is refused.

    None is tried: not for a voice that its package would download, nor for words that it does not
    know.
    """
    (tmp_path / "sitecustomize.py").write_text(REFUSED)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("ASKED_OF_NETWORK", str(tmp_path / "asked"))
    monkeypatch.setenv("HIBARI_HOME", str(tmp_path / "voices"))
    told: list[str] = []
    other = Synthesiser("natural", "emma", told.append)
    try:
        assert other.check() == natural.check()
        for text in (CALLOUTS[0], "Zwirnfaden, unit one. End one: shaft one."):
            clip = other.make(text, 160)
            assert clip.seconds > 1
            assert clip == natural.make(text, 160)
    finally:
        other.close()
    assert natural.check().startswith("natural 3 hibari_tts 0.")
    assert told == ["No voice here is called 'emma'; the usual voice speaks instead."]
    assert not (tmp_path / "asked").exists()
    assert not (tmp_path / "voices").exists()
    # That the refusal works at all:
    fetch = "import urllib.request as r; r.urlopen('http://127.0.0.1:9/')"
    fetched = subprocess.run([sys.executable, "-c", fetch], capture_output=True, check=False)
    assert b"the test refuses the network" in fetched.stderr
    assert (tmp_path / "asked").exists()


@pytest.mark.parametrize(
    ("text", "sounds"),
    [
        ("Wind on, turn by turn.", "wˈInd ˌɔn"),
        ("a round wound once too often", "wˈWnd"),
        ("12 epi", "ˌipˌiˈI"),
        ("winding a window", "wˈIndɪŋ ɐ wˈɪndO"),
    ],
)
def test_words_of_the_loom_are_not_read_as_others(network: Any, text: str, sounds: str) -> None:
    """In the package's own signs: to wind with the sound of "mind", wound with that of "round"."""
    assert sounds in " ".join(network.phonemize(spelled(text)))


@needs["espeak-ng"]
@pytest.mark.parametrize("rate", [80, 160, 220, 300, 450])
def test_words_a_minute_mean_the_same_in_both_voices(
    natural: Synthesiser, system: Synthesiser, rate: int
) -> None:
    """The callouts together take as long as espeak-ng takes for them, to 6 %."""
    seconds = [
        sum(trimmed(maker.make(text, rate)).seconds for text in CALLOUTS)
        for maker in (natural, system)
    ]
    assert seconds[0] == pytest.approx(seconds[1], rel=0.06)


@needs["espeak-ng"]
def test_both_voices_are_as_loud(natural: Synthesiser, system: Synthesiser) -> None:
    """To 3 dB, so that a change of voice is none of volume."""
    ours, theirs = (loudness(maker.make(CALLOUTS[0], 160)) for maker in (natural, system))
    assert 20 * abs(np.log10(ours / theirs)) < 3


def loudness(clip: Clip) -> float:
    """Return the root mean square of what is not silence."""
    samples = clip.samples.astype(float)
    return float(np.sqrt(np.mean(samples[np.abs(samples) > 300] ** 2)))


@pytest.mark.parametrize("speed", [0.4, 0.84, 1.0, 1.4, 2.5])
def test_a_stretched_tone_keeps_its_pitch(speed: float) -> None:
    """It lasts as long as it should, to a sample, and neither its pitch nor its size changes."""
    rate = 24000
    tone = np.sin(2 * np.pi * 220 * np.arange(2 * rate) / rate).astype(np.float32)
    out = stretched(tone, rate, speed)
    assert len(out) == round(len(tone) / speed)
    inner = out[rate // 10 : -rate // 10]
    spectrum = np.abs(np.fft.rfft(inner * np.hanning(len(inner)), 4 * rate))
    assert np.argmax(spectrum) / 4 == pytest.approx(220, abs=1)
    assert np.sqrt(np.mean(inner**2)) == pytest.approx(np.sqrt(0.5), rel=0.02)


@pytest.mark.parametrize("frames", [0, 1, 100, 719, 720, 5000])
def test_a_sound_of_any_length_is_stretched(frames: int) -> None:
    """Silence and scraps come out as such, never as a fault."""
    for speed in (0.4, 1.0, 2.5):
        out = stretched(np.zeros(frames, np.float32), 24000, speed)
        assert out.shape == (round(frames / speed),)
        assert not out.any()


@needs["sox"]
@needs["espeak-ng"]
@pytest.mark.parametrize("speed", [0.8, 1.3, 1.8])
def test_speech_is_stretched_as_by_sox(tmp_path: Path, speed: float) -> None:
    """The oracle is `sox tempo -s`, the same method by other hands: the same loudness in time."""
    before, after = tmp_path / "before.wav", tmp_path / "after.wav"
    subprocess.run(["espeak-ng", "-w", before, CALLOUTS[1]], check=True)
    subprocess.run(["sox", before, after, "tempo", "-s", str(speed)], check=True)
    clip = wav.read(before)
    ours = stretched((clip.samples / 32768).astype(np.float32), clip.rate, speed)
    theirs = wav.read(after).samples / 32768
    assert len(ours) == pytest.approx(len(theirs), rel=0.02)
    assert np.corrcoef(outline(ours), outline(theirs))[0, 1] > 0.95


def outline(sound: NDArray[np.floating]) -> NDArray[np.float64]:
    """Return the mean size of the samples in each of 60 equal parts."""
    return np.array([np.abs(part).mean() for part in np.array_split(sound, 60)])


@pytest.mark.parametrize(
    ("choice", "engines"),
    [("natural", ("natural", "system")), ("system", ("system",)), ("auto", ("system",))],
)
def test_which_engines_are_tried(choice: Engine, engines: tuple[EngineName, ...]) -> None:
    """A system's voice is not passed over by itself."""
    assert engines_for(choice) == engines


class OwnMaker(FakeMaker):
    """A maker with a name and a sound of its own."""

    def __init__(self, name: str, hertz: float) -> None:
        super().__init__()
        self._name = name
        self._hertz = hertz

    def check(self) -> str:
        return self._name

    def make(self, text: str, words_per_minute: int) -> Clip:
        super().make(text, words_per_minute)
        return hum(0.5, hertz=self._hertz)


def test_the_spare_engine_serves_while_the_first_fails(tmp_path: Path) -> None:
    """It is told once each time; a clip of the first that is kept is used; the first comes back."""
    first, spare = OwnMaker("first", 300), OwnMaker("spare", 500)
    told: list[str] = []
    clips = Clips([first, spare], ClipStore(tmp_path), told.append)
    by_first, by_spare = trimmed(hum(0.5, hertz=300)), trimmed(hum(0.5, hertz=500))
    assert clips.clip("one", 160) == by_first
    first.fail()
    assert clips.clip("two", 160) == clips.clip("three", 160) == by_spare
    assert told == [
        "No speech: the fake engine fails. Mend it The system's own voice speaks instead."
    ]
    assert Clips([first, spare], ClipStore(tmp_path), pytest.fail).clip("one", 160) == by_first
    first.fail(is_failing=False)
    assert clips.clip("two", 160) == by_first
    first.fail()
    assert clips.clip("two", 160) == by_first
    assert clips.clip("four", 160) == by_spare
    assert len(told) == 2
    spare.fail()
    with pytest.raises(SpeechError):
        clips.clip("five", 160)
    clips.close()
    assert first.is_closed
    assert spare.is_closed


def test_without_its_package_the_system_speaks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wished for and not there, it is told in one line with what to do."""
    (tmp_path / "hibari").mkdir()
    broken = "raise ImportError('no network here')"
    (tmp_path / "hibari" / "__init__.py").write_text(broken)
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")
    synthesiser = Synthesiser("natural", "", pytest.fail)
    try:
        with pytest.raises(SpeechError, match="The natural voice does not speak: no network here"):
            synthesiser.make("end one", 160)
    finally:
        synthesiser.close()


def test_a_clip_of_samples_is_limited() -> None:
    """What lies beyond full scale is cut there, not wrapped round."""
    assert from_samples(np.array([-2.0, 0.0, 2.0]), 22050).samples.tolist() == [-32767, 0, 32767]
