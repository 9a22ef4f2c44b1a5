"""Real PortAudio streams without a sound card: none at all, one that writes a file, a sound server.

Each runs in a process of its own, because PortAudio and ALSA read their settings once. The sound
server is PulseAudio with a sink that takes sound at the pace of the clock, so it is as much a
loudspeaker as can be had without one; where it is not installed that test is skipped.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from fakes import RATE, hum

if TYPE_CHECKING:
    from collections.abc import Iterator

_PLUGINS = list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="ALSA is Linux's")

START = """
import sys, time
from fakes import hum
from companion.devices.audio.playback import DevicePlayback
from companion.devices.audio.portaudio import portaudio
playback = DevicePlayback(
    portaudio, "", lambda line: print(line, flush=True), keep_awake_seconds=5, wake_seconds=0
)
print("up" if playback.wait_tried(10) else "down", flush=True)
"""


def environment(alsa: Path, **more: str) -> dict[str, str]:
    path = os.pathsep.join(sys.path)
    return {**os.environ, "PYTHONPATH": path, "ALSA_CONFIG_PATH": str(alsa), **more}


def run(program: str, alsa: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", START + program],
        env=environment(alsa),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )


def test_a_machine_without_a_sound_card_is_told_once(tmp_path: Path) -> None:
    """PortAudio itself finds nothing: one line, no noise of its own, and every call returns."""
    alsa = tmp_path / "asoundrc"
    alsa.write_text("pcm.absent { type hw card 0 }\n")  # no pcm at all aborts PortAudio
    ended = run(
        "for _ in range(20): playback.queue(hum(1)); playback.cancel()\n"
        "time.sleep(1.5)\n"
        "print(playback.wait(0)); playback.close()\n",
        alsa,
    )
    assert ended.stderr == ""
    assert ended.stdout.splitlines() == [
        (
            "No loudspeaker was found; plug one in or switch it on. "
            "All is printed meanwhile; sound is tried again by itself."
        ),
        "down",
        "True",
    ]


def test_a_real_stream_is_given_the_clip_whole(tmp_path: Path) -> None:
    """ALSA's file device receives every sample of two clips, in order."""
    sound = tmp_path / "sound.raw"
    alsa = tmp_path / "asoundrc"
    alsa.write_text(
        "pcm.nowhere { type null }\n"
        f'pcm.!default {{ type file slave.pcm nowhere file "{sound}" format "raw" }}\n'
        f'pcm.tofile {{ type file slave.pcm nowhere file "{sound}" format "raw" }}\n'
    )
    ended = run(
        "playback.queue(hum(0.5)); playback.queue(hum(0.25, hertz=300))\n"
        "print(playback.wait(10)); playback.close()\n",
        alsa,
    )
    assert ended.stdout.split() == ["up", "True"]
    assert ended.stderr == ""
    heard = sound.read_bytes()
    first = heard.find(hum(0.5).pcm)
    assert first >= 0
    assert heard.find(hum(0.25, hertz=300).pcm) >= first + len(hum(0.5).pcm)


def has_sound_server() -> bool:
    """Tell whether PulseAudio and ALSA's way to it are installed."""
    return shutil.which("pulseaudio") is not None and bool(_PLUGINS)


class SoundServer:
    """A private PulseAudio whose loudspeaker is a pipe that is read at the pace of the clock."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._socket = folder / "socket"
        self.address = f"unix:{self._socket}"
        self.alsa = folder / "asoundrc"
        self.alsa.write_text(f'pcm.!default {{ type pulse server "{self.address}" }}\n')
        self.heard = b""
        self.sounded_at = 0.0
        """When the first sound came since this was last set to 0."""
        self._server: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        pipe = self._folder / f"pipe-{time.monotonic_ns()}"
        private = {"XDG_RUNTIME_DIR": str(self._folder), "HOME": str(self._folder)}
        self._server = subprocess.Popen(
            [
                "pulseaudio",
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--use-pid-file=no",
                "--disable-shm=yes",
                f"--load=module-native-protocol-unix socket={self._socket} auth-anonymous=1",
                (
                    f"--load=module-pipe-sink file={pipe} rate={RATE} channels=1 format=s16le "
                    "use_system_clock_for_timing=yes"
                ),
            ],
            env={**os.environ, **private},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        end = time.monotonic() + 10
        while not (pipe.exists() and self._socket.exists()) and time.monotonic() < end:
            time.sleep(0.02)
        threading.Thread(target=self._listen, args=(pipe,), daemon=True).start()

    def kill(self) -> None:
        """Take the loudspeaker away without a word."""
        if self._server is not None:
            self._server.send_signal(signal.SIGKILL)
            self._server.wait()
            self._server = None
            self._socket.unlink(missing_ok=True)

    def _listen(self, pipe: Path) -> None:
        with pipe.open("rb") as sound:
            while block := sound.read1(4096):
                self.heard += block
                if not self.sounded_at and any(block):
                    self.sounded_at = time.monotonic()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[SoundServer]:
    if not has_sound_server():
        pytest.skip("pulseaudio or ALSA's plugin for it is not installed")
    server = SoundServer(tmp_path)
    server.start()
    yield server
    server.kill()


@pytest.fixture
def player(server: SoundServer) -> Iterator[subprocess.Popen[str]]:
    """Give a process that plays 0.5 s of sound for each line it is sent and tells how long."""
    program = (
        "for line in sys.stdin:\n"
        "    start = time.monotonic(); playback.queue(hum(0.5))\n"
        "    print(playback.wait(5), time.monotonic() - start, flush=True)\n"
        "playback.close()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", START + program],
        env=environment(server.alsa),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    yield process
    process.communicate(timeout=20)


def said(player: subprocess.Popen[str]) -> str:
    assert player.stdout is not None
    return player.stdout.readline().strip()


def play(player: subprocess.Popen[str]) -> float:
    """Have the sound played; return how many seconds passed until its end was told."""
    assert player.stdin is not None
    player.stdin.write("play\n")
    player.stdin.flush()
    ok, seconds = said(player).split()
    assert ok == "True"
    return float(seconds)


def loud_samples(pcm: bytes) -> int:
    samples = np.frombuffer(pcm[: len(pcm) // 2 * 2], dtype="<i2")
    return int(np.count_nonzero(np.abs(samples.astype(int)) > 500))


def test_the_end_told_is_the_end_heard(server: SoundServer, player: subprocess.Popen[str]) -> None:
    """Half a second of sound is whole, and is not told to be over before it is."""
    assert said(player) == "up"
    assert play(player) >= 0.5
    time.sleep(0.3)
    # A machine with much else to do may tear the sound, but must not lose any of it.
    assert loud_samples(server.heard) == pytest.approx(loud_samples(hum(0.5).pcm), rel=0.02)


def test_a_sound_server_that_dies_is_told_and_used_again(
    server: SoundServer, player: subprocess.Popen[str]
) -> None:
    """Killed in mid walk: the loss is told, lines are not waited for, and its return is told."""
    assert said(player) == "up"
    assert play(player) >= 0.5
    server.kill()
    assert "All is printed meanwhile" in said(player)
    assert play(player) < 0.5
    server.start()
    server.heard = b""
    assert said(player).startswith("Sound is back")
    assert play(player) >= 0.5
    time.sleep(0.3)
    assert loud_samples(server.heard) > 0
