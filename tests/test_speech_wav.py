"""What would be heard, in a file: callouts and tones that a listening program can count."""

from __future__ import annotations

import itertools
import os
import shutil
import signal
import subprocess
import sys
import time
import wave
from typing import TYPE_CHECKING

import heard
import numpy as np
import pytest
from fakes import FakeMaker

from companion.base.errors import AudioError
from companion.devices.audio import wav
from companion.devices.audio.tones import ToneName
from companion.devices.speech import Voice, make_voice
from companion.devices.speech.make import store_folder
from companion.devices.speech.wav_voice import WavVoice, gap_seconds
from companion.settings import Settings
from companion.settings.schema import FASTEST, SLOWEST, Audio

if TYPE_CHECKING:
    from pathlib import Path


needs_espeak = pytest.mark.skipif(
    shutil.which("espeak-ng") is None, reason="the speech engine espeak-ng is not installed"
)

LINES = (
    "Group 3 is full. Count the ends. Then say the number.",
    "end 37: shaft 1, dent 37",
    "Floating selvedge; it goes through the reed alone. Dent 1.",
    "one",
    "shafts 2, 3, 4, 3",
)


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))


@needs_espeak
@pytest.mark.parametrize("rate", [SLOWEST, 160, FASTEST])
def test_callouts_are_counted_by_silence_at_any_speed(tmp_path: Path, rate: int) -> None:
    """Real speech: parted by three quarters of the gap, there are as many sounds as lines."""
    out = tmp_path / "walk.wav"
    settings = Settings().but(words_per_minute=rate)
    voice = make_voice(settings, pytest.fail, audio_out=out)
    for line in LINES:
        voice.play([ToneName.CONFIRM, line])
    voice.close()
    clip = wav.read(out)
    gap = gap_seconds(rate)
    assert len(heard.segments(clip, silence_seconds=0.75 * gap)) == len(LINES)
    found = heard.segments(clip, silence_seconds=0.02)
    pauses = [after.start - before.end for before, after in itertools.pairwise(found)]
    assert max(pause for pause in pauses if pause < gap) < 0.6 * gap


def test_every_item_is_labelled_and_nothing_is_cut(tmp_path: Path) -> None:
    """Each line and tone stands whole at its label, though every `play` interrupts."""
    voice = WavVoice(tmp_path / "walk.wav", FakeMaker(), 160, pytest.fail)
    for number in range(20):
        voice.play([ToneName.CONFIRM, f"end {number:2}"])
    voice.play(["the stage is done", ToneName.FINISH])
    voice.close()
    labels = heard.labels(tmp_path / "walk.wav")
    lines = [label.text for label in labels if label.text.startswith("line: ")]
    assert lines == [*(f"line: end {number:2}" for number in range(20)), "line: the stage is done"]
    assert sum(label.text.startswith("tone: ") for label in labels) == 21
    found = heard.segments(wav.read(tmp_path / "walk.wav"))
    # Twenty of tone and line together, one line, one tone alone.
    assert len(found) == 22
    starts = [label.seconds for label in labels if label.text == "tone: confirm"]
    assert np.abs(np.array(starts) - [s.start for s in found[:20]]).max() < 0.01
    assert found[-1].seconds == pytest.approx(0.2, abs=0.01)


def test_between_callouts_is_digital_silence(tmp_path: Path) -> None:
    """At least 0.7 s of zeros part two callouts; a tone is within 0.15 s of its line."""
    voice = WavVoice(tmp_path / "walk.wav", FakeMaker(), 160, pytest.fail)
    voice.play([ToneName.CONFIRM, "end 1"])
    voice.play([ToneName.CONFIRM, "end 2", "end 3"])
    voice.close()
    clip = wav.read(tmp_path / "walk.wav")
    loud = np.flatnonzero(clip.samples)
    rests = np.diff(loud)[np.diff(loud) > 0.05 * clip.rate] / clip.rate
    assert [round(float(rest), 1) for rest in rests] == [0.1, 0.9, 0.1, 0.9]


def test_a_line_that_fails_is_told_once_and_the_rest_is_written(tmp_path: Path) -> None:
    """The walk goes on, and what works again is in the file."""
    maker, messages = FakeMaker(), list[str]()
    voice = WavVoice(tmp_path / "walk.wav", maker, 160, messages.append)
    maker.fail()
    voice.play(["end 1"])
    voice.play(["end 2"])
    maker.fail(is_failing=False)
    voice.play(["end 3"])
    voice.close()
    assert messages == ["No speech: the fake engine fails. Mend it"]
    assert [label.text for label in heard.labels(tmp_path / "walk.wav")] == ["line: end 3"]


def test_a_speed_asked_for_is_the_speed_spoken(tmp_path: Path) -> None:
    """Lines after a change are made at the new speed."""
    maker = FakeMaker()
    voice = WavVoice(tmp_path / "walk.wav", maker, 160, pytest.fail)
    voice.play(["end 1"])
    voice.set_rate(10)
    voice.play(["end 2"])
    voice.close()
    assert maker.made == [("end 1", 160), ("end 2", SLOWEST)]


@needs_espeak
def test_a_killed_walk_leaves_the_callouts_spoken_so_far(tmp_path: Path) -> None:
    """After SIGKILL the file is read by the standard library, whole, and no rubbish is left."""
    program = (
        "import sys, time; from pathlib import Path\n"
        "from companion.devices.speech import make_voice\n"
        "from companion.settings import Settings\n"
        "voice = make_voice(Settings(), print, audio_out=Path(sys.argv[1]) / 'walk.wav')\n"
        "for number in (1, 2, 3): voice.play([f'end {number}'])\n"
        "print('spoken', flush=True); time.sleep(60)\n"
    )
    path, scratch = os.pathsep.join(sys.path), tmp_path / "scratch"
    scratch.mkdir()
    environment = {**os.environ, "PYTHONPATH": path, "TMPDIR": str(scratch)}
    walk = subprocess.Popen(
        [sys.executable, "-c", program, tmp_path], env=environment, stdout=subprocess.PIPE
    )
    assert walk.stdout is not None
    assert walk.stdout.readline() == b"spoken\n"
    walk.send_signal(signal.SIGKILL)
    walk.wait()
    walk.stdout.close()
    end = time.monotonic() + 5
    while list(scratch.iterdir()) and time.monotonic() < end:
        time.sleep(0.01)
    assert list(scratch.iterdir()) == []
    with wave.open(str(tmp_path / "walk.wav")) as file:
        assert len(file.readframes(10**9)) == 2 * file.getnframes()
    assert len(heard.segments(wav.read(tmp_path / "walk.wav"))) == 3


def test_a_file_that_cannot_be_made_is_an_error_at_the_start(tmp_path: Path) -> None:
    """The weaver asked for the file, so the walk does not begin without it."""
    with pytest.raises(AudioError, match="cannot be written"):
        make_voice(Settings(), pytest.fail, audio_out=tmp_path / "none" / "walk.wav")


def test_text_only_starts_nothing(tmp_path: Path) -> None:
    """Neither a process nor a folder is made for a silent walk."""
    voice = make_voice(Settings(), pytest.fail, is_silent=True)
    assert type(voice) is Voice
    assert list(tmp_path.iterdir()) == []


@needs_espeak
def test_without_a_loudspeaker_the_voice_is_there_all_the_same() -> None:
    """A device that no machine has: one message that says so, and nothing waits to be heard."""
    wanted = Settings(audio=Audio(output_device="no such loudspeaker"))
    messages: list[str] = []
    voice = make_voice(wanted, messages.append)
    for number in range(5):
        voice.play([ToneName.CONFIRM, f"end {number}"])
    assert voice.wait(60)
    voice.close()
    assert len(messages) == 1
    assert messages[0].endswith("All is printed meanwhile; sound is tried again by itself.")


def test_clips_are_kept_under_the_companions_home(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """COMPANION_HOME moves the store; without it, it is in the user's cache."""
    assert store_folder() == tmp_path / "clips"
    monkeypatch.delenv("COMPANION_HOME")
    assert store_folder().name == "clips"
