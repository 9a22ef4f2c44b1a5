"""Whether `companion listen` sets a tail that covers a late loudspeaker: a real sound server.

    PYTHONPATH=.:tests python tests/bench/hearing/loudspeakers.py

The companion plays its tones to a null sink of a private PulseAudio. A second sink is the room: it
gets what is played as late as each case says, and once more as an echo where there is one; the
microphone is that room. The delay is made here, 20 ms at a time: the server's own loopback gives a
late sink its sound in long pieces, which no microphone does. How long it truly sounds on is told by
when the sound of both sinks comes, by one clock: where each tone has fallen 30 dB under the
loudest, the latest counts. The tail must cover that but for two frames, by which the companion
holds its own voice to be sounding longer than the sink does; more than a quarter of a second beyond
would be deaf for nothing.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from companion.devices.hearing.settings import FRAME_SECONDS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

RATE = 16_000
_PIECE = 2 * RATE // 50
"""Bytes of 20 ms."""
CASES = ((0, 0), (50, 0), (100, 0), (200, 0), (300, 0), (400, 0), (100, 150), (300, 150))
"""Milliseconds of delay, and after it of the echo; 0 is none."""
_LISTEN_SECONDS = 60.0
_MOST_BEYOND = 0.25
_SILENT = 10 ** (-30 / 20)
"""Of the loudest."""


class Server:
    """A private PulseAudio: what is played to the sink `near` comes to the sink `room` late."""

    def __init__(self, folder: Path, delays: Sequence[int]) -> None:
        self._socket = folder / "socket"
        alsa = folder / "asoundrc"
        alsa.write_text(f'pcm.!default {{ type pulse server "unix:{self._socket}" }}\n')
        self.environment = {
            **os.environ,
            "ALSA_CONFIG_PATH": str(alsa),
            "PULSE_SERVER": f"unix:{self._socket}",
            "PULSE_SINK": "near",
            "PULSE_SOURCE": "room.monitor" if delays[0] else "near.monitor",
            "XDG_RUNTIME_DIR": str(folder),
            "COMPANION_HOME": str(folder / "home"),
        }
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disable-shm=yes"]
        command += [
            "--use-pid-file=no",
            f"--load=module-native-protocol-unix socket={self._socket} auth-anonymous=1",
            "--load=module-null-sink sink_name=near rate=44100",
            "--load=module-null-sink sink_name=room rate=44100",
        ]
        self._server = subprocess.Popen(
            command,
            env={**self.environment, "HOME": str(folder)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        end = time.monotonic() + 10
        while not self._socket.exists() and time.monotonic() < end:
            time.sleep(0.05)
        time.sleep(1.0)
        self._room = Room(self, delays) if delays[0] else None

    def stream(self, program: str, device: str) -> subprocess.Popen[bytes]:
        """Start parec or pacat with a device, raw samples in 20 ms pieces."""
        form = ["--format=s16le", f"--rate={RATE}", "--channels=1", "--raw", "--latency-msec=20"]
        return subprocess.Popen(
            [program, "-d", device, *form],
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def close(self) -> None:
        """End the server and what runs by it."""
        if self._room:
            self._room.end()
        self._server.terminate()
        self._server.wait(10)


class Room(threading.Thread):
    """Brings what is played to the sink `near` to the sink `room` late, once for each delay."""

    def __init__(self, server: Server, delays: Sequence[int]) -> None:
        super().__init__(daemon=True)
        self._near = server.stream("parec", "near.monitor")
        self._room = server.stream("pacat", "room")
        self._late = [bytearray(2 * (RATE * delay // 1000)) for delay in delays]
        self.start()

    def run(self) -> None:
        """Pass the sound on until it ends."""
        assert self._near.stdout is not None
        assert self._room.stdin is not None
        while piece := self._near.stdout.read(_PIECE):
            total = np.zeros(_PIECE // 2)
            for late in self._late:
                late.extend(piece)
                total[: len(piece) // 2] += np.frombuffer(bytes(late[: len(piece)]), "<i2")
                del late[: len(piece)]
            self._room.stdin.write(total.clip(-32768, 32767).astype("<i2").tobytes())
            self._room.stdin.flush()

    def end(self) -> None:
        """End both streams."""
        self._near.terminate()
        self.join(5)
        self._room.kill()


class Recorder(threading.Thread):
    """Takes the sound of a source, and when it came by the clock."""

    def __init__(self, server: Server, source: str) -> None:
        super().__init__(daemon=True)
        self._stream = server.stream("parec", source)
        self._pieces: list[np.ndarray] = []
        self._came: list[float] = []
        self.start()

    def run(self) -> None:
        """Take pieces until the sound ends."""
        assert self._stream.stdout is not None
        while piece := self._stream.stdout.read(_PIECE):
            self._came.append(time.monotonic())
            self._pieces.append(np.frombuffer(piece[: len(piece) // 2 * 2], "<i2").astype(float))

    def endings(self) -> list[float]:
        """End the stream; return when each tone's end came."""
        self._stream.terminate()
        self.join(5)
        ends = endings(np.concatenate([np.zeros(0), *self._pieces]))
        return [self._came[round(at * RATE) // (_PIECE // 2)] for at in ends]


@contextmanager
def server(delays: Sequence[int]) -> Iterator[Server]:
    """Give a server with these delays."""
    with tempfile.TemporaryDirectory() as name:
        made = Server(Path(name), delays)
        try:
            yield made
        finally:
            made.close()


def lateness(near: Sequence[float], far: Sequence[float]) -> float:
    """Return by how many seconds sounds end later in `far`; of several the latest."""
    after = [min((b - a for b in far if b >= a - _PIECE / 2 / RATE), default=0.0) for a in near]
    return max((0.0, *after))


def endings(sound: np.ndarray) -> list[float]:
    """Return when each sound ends that a second of silence follows, in seconds."""
    loud = np.flatnonzero(np.abs(sound) > _SILENT * np.abs(sound).max(initial=1.0))
    ends = loud[np.diff(loud, append=len(sound) + 2 * RATE) > RATE]
    return [float(at) / RATE for at in ends]


def measured(delay: int, echo: int) -> tuple[float | None, float]:
    """Return the tail that `companion listen` sets, and how late the sound truly was."""
    with server((delay, delay + echo) if echo else (delay,)) as made:
        sources = "near.monitor", made.environment["PULSE_SOURCE"]
        recorders = [Recorder(made, source) for source in sources]
        listening = subprocess.Popen(
            [sys.executable, "-m", "companion", "listen"],
            env=made.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        tail = _tail_told(listening)
        listening.terminate()
        listening.wait(20)
        near, room = (recorder.endings() for recorder in recorders)
        return tail, lateness(near, room)


def _tail_told(listening: subprocess.Popen[str]) -> float | None:
    """Return the tail that is told, or None where the tone was not heard."""
    assert listening.stdout is not None
    end = time.monotonic() + _LISTEN_SECONDS
    for line in listening.stdout:
        if line.startswith("Loudspeaker:"):
            found = re.search(r"up to (\d+\.\d+) seconds", line)
            return float(found[1]) if found else None
        if time.monotonic() > end:
            break
    return None


def main() -> int:
    """Print the table; return 1 where a tail is too short, or longer than it need be."""
    print(f"{'delay':>6}{'echo':>6}{'truly late':>12}{'tail set':>10}")
    failed = 0
    for delay, echo in CASES:
        tail, late = measured(delay, echo)
        shortest = late - 2 * FRAME_SECONDS
        is_good = tail is not None and shortest <= tail <= max(0.1, late) + _MOST_BEYOND
        failed += not is_good
        told = "none" if tail is None else f"{tail:.2f} s"
        print(
            f"{delay:6}{echo:6}{late:10.2f} s{told:>10}{'' if is_good else '  MISSED'}", flush=True
        )
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
