"""WAV files: what others read of ours, what we read of theirs, and what silence parts."""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import wave
from typing import TYPE_CHECKING

import heard
import pytest
from fakes import RATE, hum
from hypothesis import given
from hypothesis import strategies as st

from companion.base.errors import AudioError
from companion.devices.audio import wav
from companion.devices.audio.clip import Clip, silence

if TYPE_CHECKING:
    from pathlib import Path


def test_the_standard_library_reads_what_we_write(tmp_path: Path) -> None:
    """Python's own `wave` finds one 16-bit channel, our rate and every sample, labels and all."""
    path = tmp_path / "walk.wav"
    writer = wav.WavWriter(path, RATE)
    writer.label("line: end 1")
    writer.write(hum(0.5))
    writer.write(silence(0.25, RATE))
    writer.close()
    with wave.open(str(path)) as file:
        layout = (file.getnchannels(), file.getsampwidth(), file.getframerate())
        sound = file.readframes(file.getnframes())
    assert layout == (1, 2, RATE)
    assert sound == hum(0.5).pcm + silence(0.25, RATE).pcm


def test_the_riff_size_covers_the_file(tmp_path: Path) -> None:
    """The size in the RIFF header is the file's less eight bytes (IBM and Microsoft 1991)."""
    path = tmp_path / "walk.wav"
    writer = wav.WavWriter(path, RATE)
    writer.label("odd")
    writer.write(hum(0.1))
    writer.close()
    content = path.read_bytes()
    assert struct.unpack_from("<I", content, 4)[0] == len(content) - 8


def test_labels_come_back_with_their_moments(tmp_path: Path) -> None:
    """Each label is read at the moment it was given, whatever its letters."""
    path = tmp_path / "walk.wav"
    writer = wav.WavWriter(path, RATE)
    for text in ("tone: confirm", "line: end 37, köper", "끝"):
        writer.label(text)
        writer.write(hum(0.5))
    writer.close()
    expected = [(0.0, "tone: confirm"), (0.5, "line: end 37, köper"), (1.0, "끝")]
    assert [tuple(label) for label in heard.labels(path)] == expected


def test_a_killed_writer_leaves_a_whole_file(tmp_path: Path) -> None:
    """After SIGKILL in the middle of a walk the standard library reads all that was written."""
    path = tmp_path / "walk.wav"
    program = (
        "import os, signal, sys; from pathlib import Path\n"
        "from companion.devices.audio import wav\n"
        "from companion.devices.audio.clip import silence\n"
        "writer = wav.WavWriter(Path(sys.argv[1]), 22050)\n"
        "for _ in range(3): writer.label('line'); writer.write(silence(1, 22050))\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    ended = subprocess.run([sys.executable, "-c", program, path], check=False, env=environment)
    assert ended.returncode == -signal.SIGKILL
    with wave.open(str(path)) as file:
        assert file.getnframes() == len(file.readframes(10**9)) // 2 == 3 * RATE


def test_stereo_from_the_standard_library_is_averaged(tmp_path: Path) -> None:
    """Two channels become the mean of both."""
    path = tmp_path / "stereo.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((2, 2, 16000, 0, "NONE", ""))
        file.writeframes(struct.pack("<4h", 100, 300, -50, -150))
    assert wav.read(path) == Clip(struct.pack("<2h", 200, -100), 16000)


def test_a_streamed_length_means_to_the_end(tmp_path: Path) -> None:
    """A header that counts 2 GB, as streaming programs write it, gives what is there."""
    path = tmp_path / "streamed.wav"
    writer = wav.WavWriter(path, RATE)
    writer.write(hum(0.2))
    writer.close()
    content = bytearray(path.read_bytes())
    struct.pack_into("<I", content, 40, 0x7FFFF000)
    path.write_bytes(content)
    assert wav.read(path) == hum(0.2)


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"", "expected a WAV file"),
        (b"OggS" + bytes(60), "expected a WAV file"),
        (b"RIFF\x04\0\0\0WAVE", "with sound in it"),
        (
            b"RIFF\x04\0\0\0WAVEfmt \x10\0\0\0"
            + struct.pack("<HHIIHH", 3, 1, 8000, 32000, 4, 32)
            + b"data\0\0\0\0",
            "expected 16-bit PCM, found format 3 with 32 bits",
        ),
    ],
)
def test_what_is_no_16_bit_wav_is_refused_in_one_line(
    tmp_path: Path, content: bytes, fault: str
) -> None:
    """The error names the file and what was expected."""
    path = tmp_path / "wrong.wav"
    path.write_bytes(content)
    with pytest.raises(AudioError, match=fault) as caught:
        wav.read(path)
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


@given(st.data())
def test_a_damaged_file_is_read_or_refused_never_a_crash(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Bytes changed, cut or added anywhere give a clip or one line, labels too."""
    path = tmp_path_factory.mktemp("damaged") / "walk.wav"
    writer = wav.WavWriter(path, RATE)
    writer.label("line: end 1")
    writer.write(hum(0.01))
    writer.close()
    content = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.sampled_from([*range(48), *range(len(content) - 70, len(content))]))
        content[at] = data.draw(st.integers(0, 255))
    path.write_bytes(content[: data.draw(st.integers(0, len(content)))])
    outcome = _outcome(path)
    assert outcome.startswith((f"{path}: expected", "a clip with"))
    assert "\n" not in outcome


def _outcome(path: Path) -> str:
    try:
        return f"a clip with {wav.read(path).frames} frames"
    except AudioError as error:
        return str(error)


def test_a_file_that_cannot_be_made_is_one_line(tmp_path: Path) -> None:
    """A folder that is not there gives an error that names the file."""
    with pytest.raises(AudioError, match="cannot be written: No such file"):
        wav.WavWriter(tmp_path / "none" / "walk.wav", RATE)


def test_a_missing_file_is_one_line(tmp_path: Path) -> None:
    """Reading what is not there names the file and the reason."""
    with pytest.raises(AudioError, match="No such file"):
        wav.read(tmp_path / "none.wav")


def test_silence_parts_sounds_and_short_rests_do_not() -> None:
    """Sounds 0.9 s apart are two; a rest of 0.4 s stays inside one."""
    rests = (0.4, 0.9)
    sounds = [hum(0.3).pcm + silence(rest, RATE).pcm for rest in rests]
    found = heard.segments(Clip(b"".join(sounds) + hum(0.3).pcm, RATE))
    assert [round(segment.start, 1) for segment in found] == [0.0, 1.9]
    assert [round(segment.seconds, 1) for segment in found] == [1.0, 0.3]


def test_silence_alone_has_no_segments() -> None:
    """Neither digital silence nor a faint hiss is a sound."""
    assert heard.segments(silence(2, RATE)) == []
    assert heard.segments(hum(1, peak=0.002)) == []


def test_a_full_file_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond what the format can count the writer refuses, and the file stays whole."""
    monkeypatch.setattr(wav, "MAX_DATA_BYTES", 50_000)
    writer = wav.WavWriter(tmp_path / "walk.wav", RATE)
    writer.write(hum(1))
    with pytest.raises(AudioError, match="is full"):
        writer.write(hum(1))
    writer.close()
    assert wav.read(tmp_path / "walk.wav").seconds == 1
