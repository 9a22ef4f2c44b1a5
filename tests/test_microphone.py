"""Sound from recordings and microphones: one form, every loss told, every return noticed."""

from __future__ import annotations

import os
import subprocess
import sys
import wave
from typing import TYPE_CHECKING

import numpy as np
import pytest
from front_door import PLANS, run, terminal
from hearing_fakes import FakeClock, FakeMicrophoneSystem, hum, room

from companion.base.errors import AudioError
from companion.devices.audio.capture import (
    DEAD_SECONDS,
    MUTE_SECONDS,
    QUEUE_BLOCKS,
    DeviceMicrophone,
)
from companion.devices.audio.microphone import TRAILING_SECONDS, FileMicrophone
from companion.devices.recogniser.interface import SAMPLE_RATE
from companion.devices.recogniser.untaught import why_not

if TYPE_CHECKING:
    from pathlib import Path


def tone(rate: int, hertz: float, seconds: float = 1.0, channels: int = 1) -> np.ndarray:
    times = np.arange(round(seconds * rate)) / rate
    mono = (12000 * np.sin(2 * np.pi * hertz * times)).astype("<i2")
    return np.repeat(mono[:, np.newaxis], channels, axis=1)


def write(path: Path, rate: int, samples: np.ndarray) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(samples.shape[1])
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(samples.tobytes())
    return path


def pitch(pcm16: bytes) -> float:
    samples = np.frombuffer(pcm16, dtype="<i2")
    return float(np.argmax(np.abs(np.fft.rfft(samples)))) * SAMPLE_RATE / len(samples)


class Bench:
    """A microphone on a fake machine, its reports and its time."""

    def __init__(self, system: FakeMicrophoneSystem) -> None:
        self.system = system
        self.clock = FakeClock()
        self.reports: list[str] = []
        self.microphone = DeviceMicrophone(
            lambda: system, "", self.reports.append, clock=self.clock
        )
        self._blocks = self.microphone.blocks()

    def next(self, pcm16: bytes = b"", *, is_after_gap: bool = False) -> tuple[bytes, bool]:
        if pcm16:
            self.system.sound(pcm16, is_after_gap=is_after_gap)
        block = next(self._blocks)
        return block.pcm16, block.is_after_gap

    def wait(self, seconds: float) -> None:
        """Let time pass, and the microphone notice it."""
        self.clock.advance(seconds)
        self.next()


@pytest.fixture
def bench() -> Bench:
    bench = Bench(FakeMicrophoneSystem())
    bench.next()
    return bench


@pytest.mark.parametrize(("rate", "channels"), [(8000, 1), (16000, 1), (22050, 2), (48000, 3)])
def test_a_recording_of_any_layout_becomes_mono_at_16_khz(
    tmp_path: Path, rate: int, channels: int
) -> None:
    """A second of 440 Hz is still a second of 440 Hz, with silence after it."""
    path = write(tmp_path / "in.wav", rate, tone(rate, 440, channels=channels))
    sound = b"".join(block.pcm16 for block in FileMicrophone(path).blocks())
    assert len(sound) / 2 / SAMPLE_RATE == pytest.approx(1 + TRAILING_SECONDS, abs=0.1)
    assert pitch(sound[: 2 * SAMPLE_RATE]) == pytest.approx(440, abs=2)
    assert not any(sound[-SAMPLE_RATE:])


def test_a_recording_can_be_closed_early(tmp_path: Path) -> None:
    """After `close` no further block comes."""
    microphone = FileMicrophone(write(tmp_path / "in.wav", SAMPLE_RATE, tone(SAMPLE_RATE, 440)))
    taken = microphone.blocks()
    assert next(taken).pcm16
    microphone.close()
    assert list(taken) == []


def test_what_is_no_recording_is_one_line(tmp_path: Path) -> None:
    """The fault is told before anything is listened to."""
    with pytest.raises(AudioError, match=r"none\.wav cannot be read: "):
        FileMicrophone(tmp_path / "none.wav")


def test_sound_at_the_devices_own_rate_is_brought_to_16_khz() -> None:
    """Blocks at 48 kHz join to the same tone at 16 kHz without a seam."""
    bench = Bench(FakeMicrophoneSystem(rate=48000))
    bench.next()
    samples = tone(48000, 440).tobytes()
    parts = [samples[at : at + 1920] for at in range(0, len(samples), 1920)]
    sound = b"".join(bench.next(part)[0] for part in parts)
    assert len(sound) / 2 / SAMPLE_RATE == pytest.approx(1, abs=0.05)
    assert pitch(sound) == pytest.approx(440, abs=2)
    steps = np.abs(np.diff(np.frombuffer(sound, dtype="<i2").astype(int)))
    # The steepest step of this tone is 12000 * 2 pi * 440 / 16000 = 2073; a seam would be more.
    assert steps.max() < 2200


def test_a_device_that_gives_all_channels_or_none_is_mixed() -> None:
    """Two channels, of which one is silent, give their mean."""
    system = FakeMicrophoneSystem(channels=2)
    system.refuses_mono = True
    bench = Bench(system)
    bench.next()
    stereo = np.array([[1000, 0], [2000, 0]], dtype="<i2")
    sound, _ = bench.next(stereo.tobytes())
    assert np.frombuffer(sound, dtype="<i2").tolist() == [500, 1000]


def test_lost_sound_is_a_gap(bench: Bench) -> None:
    """What the system says it lost is marked on the block after it."""
    bench.next(room(0.1))
    assert bench.next(room(0.1)) == (room(0.1), False)
    assert bench.next(room(0.1), is_after_gap=True) == (room(0.1), True)


def test_sound_that_nobody_took_in_time_is_a_gap(bench: Bench) -> None:
    """The queue is bounded: what does not fit is dropped, and told at the place where it was."""
    bench.next(room(0.1))
    for _ in range(QUEUE_BLOCKS + 3):
        bench.system.sound(room(0.1))
    taken = [bench.next() for _ in range(QUEUE_BLOCKS)]
    assert not any(is_after_gap for _, is_after_gap in taken)
    assert bench.next(room(0.1)) == (room(0.1), True)


def test_what_was_said_while_nobody_listened_can_be_skipped(bench: Bench) -> None:
    """After `skip` only new sound comes, marked as standing alone."""
    bench.next(room(0.1))
    bench.system.sound(hum(300))
    bench.microphone.skip()
    assert bench.next(room(0.1)) == (room(0.1), True)


def test_a_microphone_pulled_out_is_told_once_and_used_again(bench: Bench) -> None:
    """No block for a second: told, tried at growing intervals, told when it is heard again."""
    bench.next(room(0.1))
    bench.system.is_gone = True
    bench.wait(DEAD_SECONDS + 0.1)
    for _ in range(20):
        bench.wait(1.0)
    assert bench.reports == [("The microphone Fake mic has gone. It is tried again by itself.")]
    assert 3 <= bench.system.refreshes <= 6
    bench.system.is_gone = False
    bench.wait(31.0)
    bench.next(room(0.1))
    assert bench.reports[1:] == ["The microphone is heard again: Fake mic."]


def test_exact_zeros_are_a_muted_microphone(bench: Bench) -> None:
    """Even a quiet room is not all zeros; muted is told once, and so is being heard again."""
    bench.next(room(0.1))
    for _ in range(200):
        bench.clock.advance(0.1)
        bench.next(bytes(3200))
    (told,) = bench.reports
    assert "gives no sound at all; it may be switched off or muted" in told
    assert bench.system.opened > 1
    bench.clock.advance(31.0)
    for _ in range(3):
        bench.next(room(0.1))
    assert bench.reports[1:] == ["The microphone is heard again: Fake mic."]


def test_a_quiet_room_is_not_taken_for_a_muted_microphone(bench: Bench) -> None:
    """A minute of faint hiss raises no alarm."""
    for _ in range(round(MUTE_SECONDS * 12 / 0.1)):
        bench.clock.advance(0.1)
        bench.next(room(0.1))
    assert bench.reports == []


def test_no_microphone_at_all_is_one_line() -> None:
    """The line says so and what goes on; one that is plugged in later is used."""
    system = FakeMicrophoneSystem()
    system.is_gone = True
    bench = Bench(system)
    bench.next()
    for _ in range(5):
        bench.wait(1.0)
    none = "No microphone was found; plug one in or switch it on."
    assert bench.reports == [f"{none} It is tried again by itself."]
    system.is_gone = False
    bench.wait(31.0)
    assert bench.next(room(0.1))[0] == room(0.1)


@pytest.mark.skipif(sys.platform != "linux", reason="ALSA is Linux's")
@pytest.mark.parametrize("asked", [("teach", "zero"), ("listen", "--score")])
def test_without_a_microphone_nothing_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: tuple[str, ...]
) -> None:
    """It waited without end for words that nothing could hear; now one line, and it ends."""
    _without_sound(tmp_path, monkeypatch)
    told = run(tmp_path, *asked, "--text")
    assert told.returncode == 2
    assert "Say" not in told.stdout
    assert told.stderr == "No microphone was found; plug one in or switch it on.\n"


@pytest.mark.skipif(sys.platform != "linux", reason="ALSA is Linux's")
@pytest.mark.skipif(bool(why_not("en")), reason="needs hama and livekit-wakeword")
@pytest.mark.parametrize(
    ("asked", "meanwhile"),
    [
        (("listen",), "It is tried again by itself."),
        (
            ("thread", PLANS / "first-try.toml", "--ear", "untaught"),
            "The walk goes on by key and pedal; it is tried again by itself.",
        ),
    ],
)
def test_only_a_walk_goes_on_by_key_and_pedal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: tuple[str, ...], meanwhile: str
) -> None:
    """The trial of the microphone, which waits for one as a walk does, tells of no walk."""
    _without_sound(tmp_path, monkeypatch)
    child = terminal(tmp_path, *asked)
    child.expect_exact(f"No microphone was found; plug one in or switch it on. {meanwhile}")
    child.close(force=True)


def _without_sound(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    alsa = folder / "asoundrc"
    alsa.write_text("pcm.absent { type hw card 0 }\n")  # no pcm at all aborts PortAudio
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(alsa))


def test_a_closed_microphone_lets_the_device_go(bench: Bench) -> None:
    """After `close` the blocks end and no stream stays open."""
    bench.microphone.close()
    with pytest.raises(StopIteration):
        bench.next()
    with pytest.raises(StopIteration):
        bench.next()
    assert bench.system.open == []


REAL = """
import gc, sys
from companion.devices.audio.capture import DeviceMicrophone
from companion.devices.audio.portaudio import portaudio
microphone = DeviceMicrophone(portaudio, sys.argv[1], lambda line: print(line, flush=True))
sound = b""
for block in microphone.blocks():
    sound += block.pcm16
    if len(sound) >= 32000:
        microphone.close()
sys.stdout.buffer.write(sound)
gc.collect()
print(len(portaudio()._open), "kept", file=sys.stderr)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="ALSA is Linux's")
def test_a_real_stream_gives_what_the_device_gives(tmp_path: Path) -> None:
    """ALSA's file device plays a tone at 44.1 kHz into real PortAudio; it comes out at 16 kHz."""
    raw, alsa = tmp_path / "in.raw", tmp_path / "asoundrc"
    raw.write_bytes(tone(44100, 440, seconds=4.0).tobytes())
    device = f'type file slave.pcm nowhere file "/dev/null" infile "{raw}" format "raw"'
    alsa.write_text(
        f"pcm.nowhere {{ type null }}\npcm.fromfile {{ {device} }}\npcm.!default {{ {device} }}\n"
    )
    path = os.pathsep.join(sys.path)
    done = subprocess.run(
        [sys.executable, "-c", REAL, "fromfile"],
        env={**os.environ, "PYTHONPATH": path, "ALSA_CONFIG_PATH": str(alsa)},
        capture_output=True,
        timeout=60,
        check=True,
    )
    assert done.stderr == b"0 kept\n"  # else its resampler is told as leaked when all ends
    assert pitch(done.stdout[:32000]) == pytest.approx(440, abs=2)
