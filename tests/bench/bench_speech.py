"""Measure how soon a key is answered in speech: `python tests/bench/bench_speech.py [TIMES]`.

Beside ours stands plain pyttsx3, a `say` with `runAndWait` in one thread. There is no sound card
where this was written, so three comparisons are made:

1. Ours to the clip in the playback queue; pyttsx3 to the start of a stand-in for its player
   `aplay` that takes no time, which flatters it: nothing is opened and nothing played.
2. The same while a line is sounding, the stand-in taking as long as the sound lasts. (Ours are the
   figures of 1: every key but the first came while the fake loudspeaker was still busy.)
3. Both through PulseAudio, if it is installed, to the first sound that comes out of its
   loudspeaker, a pipe read at the pace of the clock; pyttsx3 with the real `aplay`.

Every figure is of one run on one machine; only the ratios mean anything.
"""

from __future__ import annotations

import os
import select
import statistics
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

from fakes import FakePlayback  # noqa: E402 needs the path
from test_audio_real import SoundServer, has_sound_server  # noqa: E402 needs the path

from companion.devices.audio.playback import DevicePlayback  # noqa: E402 needs the path
from companion.devices.audio.portaudio import portaudio  # noqa: E402 needs the path
from companion.devices.speech.live_voice import LiveVoice  # noqa: E402 needs the path
from companion.devices.speech.make import make_clips  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from companion.settings.schema import Engine

RATE = 160
ENGINES: tuple[Engine, ...] = ("system", "natural")
SOUNDING_SECONDS = 0.5
"""How far into a line the next key comes, in the second comparison."""

GIVE_UP_SECONDS = 10.0
NOTHING = -1.0
"""Stands for a line that was never spoken."""
REST_SECONDS = 0.25
"""Between two keys of ours, so that the sound before has died away in the loudspeaker."""
LINE_SECONDS = 5.0
"""Longer than any line lasts."""
TELLS = """#!/bin/sh
echo > "$BENCH_STARTED"
"""
TELLS_AND_LASTS = (
    TELLS
    + """sleep "$(($(stat -c %s "$1") / 44))e-3"
"""
)

PLAIN = """
import sys, time, pyttsx3
engine = pyttsx3.init()
engine.setProperty("rate", int(sys.argv[1]))
engine.runAndWait()
for line in sys.stdin:
    print(time.monotonic_ns(), file=sys.stderr, flush=True)
    engine.say(line.strip())
    engine.runAndWait()
"""

COLD = """
import sys, threading, time
from pathlib import Path
from companion.devices.speech.clips import Clips
from companion.devices.speech.live_voice import LiveVoice
from companion.devices.speech.store import ClipStore
from companion.devices.speech.synthesis import Synthesiser
class Queue:
    is_busy, queued = False, threading.Event()
    def queue(self, clip):
        self.at = time.monotonic_ns()
        self.queued.set()
    def cancel(self): pass
    def close(self): pass
playback = Queue()
clips = make_clips(sys.argv[2], "", print, Path(sys.argv[1]))
voice = LiveVoice(clips, playback, 160, print)
voice.play(["end 37: shaft 1, dent 37"])
playback.queued.wait(10)
print(playback.at, flush=True)
voice.close()
"""


def line(number: int) -> str:
    return f"end {number}: shaft {number % 4 + 1}, dent {number}"


def queued_after(voice: LiveVoice, playback: FakePlayback, text: str) -> float:
    """Return the milliseconds from a key to its clip in the queue."""
    playback.queued.clear()
    start = time.monotonic()
    voice.play([text])
    if not playback.wait_for_clips(1):
        raise RuntimeError("nothing was spoken")
    return (playback.queued[0][0] - start) * 1e3


def ours(folder: Path, times: int, engine: Engine) -> dict[str, list[float]]:
    """Return the milliseconds of each case: never made, on disk only, made ahead."""
    found: dict[str, list[float]] = {"never made before": [], "in the store": [], "made ahead": []}
    for case, taken in found.items():
        playback = FakePlayback()
        clips = make_clips(engine, "", print, folder)
        voice = LiveVoice(clips, playback, RATE, print)
        clips.clip("warm", RATE)
        for number in range(1, times + 1):
            time.sleep(0.03)
            if case == "made ahead":
                clips.clip(line(number), RATE)
            taken.append(queued_after(voice, playback, line(number)))
        voice.close()
    return found


def heard_after(server: SoundServer, act: Callable[[], object]) -> float:
    """Return the milliseconds from an act to the first sound out of the loudspeaker."""
    server.sounded_at = 0.0
    start = time.monotonic()
    act()
    while not server.sounded_at and time.monotonic() - start < GIVE_UP_SECONDS:
        time.sleep(0.0005)
    return (server.sounded_at - start) * 1e3 if server.sounded_at else NOTHING


def ours_heard(server: SoundServer, folder: Path, times: int) -> dict[str, list[float]]:
    """Return the milliseconds to the first sound: never made before, and made ahead."""
    playback = DevicePlayback(portaudio, "", print, keep_awake_seconds=60, wake_seconds=0)
    voice = LiveVoice(make_clips("system", "", print, folder), playback, RATE, print)
    playback.wait_tried(GIVE_UP_SECONDS)
    found: dict[str, list[float]] = {"never made before": [], "made ahead": []}
    for taken in found.values():
        for number in range(1, times + 1):
            text = line(number)
            taken.append(heard_after(server, partial(voice.play, [text])))
            playback.cancel()
            time.sleep(REST_SECONDS)
    voice.close()
    return found


def plain_heard(server: SoundServer, folder: Path, times: int) -> list[float]:
    """Return the milliseconds to pyttsx3's first sound through the real player."""
    plain = Plain(folder, player="")
    taken = []
    for number in range(1, times + 1):
        text = line(number)
        taken.append(heard_after(server, partial(plain.key, text)))
        time.sleep(LINE_SECONDS)
    plain.close()
    return taken


class Plain:
    """A process with pyttsx3 as its manual shows it, and a stand-in for its player."""

    def __init__(self, folder: Path, *, player: str) -> None:
        started = folder / "started"
        os.mkfifo(started)
        if player:
            (folder / "aplay").write_text(player)
            (folder / "aplay").chmod(0o755)
        path = f"{folder}{os.pathsep}{os.environ['PATH']}"
        # Opened for both so that it never ends between two players.
        self._pipe = os.open(started, os.O_RDWR)
        self._process = subprocess.Popen(
            [sys.executable, "-c", PLAIN, str(RATE)],
            env={**os.environ, "PATH": path, "BENCH_STARTED": str(started)},
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def key(self, text: str) -> int:
        """Ask for a line; return when, in nanoseconds."""
        pipe = self._process.stdin
        if pipe is None:
            raise RuntimeError("no pipe")
        at = time.monotonic_ns()
        pipe.write(text + "\n")
        pipe.flush()
        return at

    def started_after(self, at: int) -> float:
        """Wait for the player to start; return the milliseconds since a moment in nanoseconds."""
        if not select.select([self._pipe], [], [], GIVE_UP_SECONDS)[0]:
            return NOTHING
        os.read(self._pipe, 1)
        return (time.monotonic_ns() - at) / 1e6

    def close(self) -> None:
        self._process.kill()
        self._process.communicate()
        os.close(self._pipe)


def plain_at_rest(folder: Path, times: int) -> list[float]:
    """Return the milliseconds from a key to the player's start, nothing sounding before."""
    plain = Plain(folder, player=TELLS)
    plain.started_after(plain.key(line(999)))
    taken = []
    for number in range(1, times + 1):
        time.sleep(0.05)
        at = plain.key(line(number))
        taken.append(plain.started_after(at))
    plain.close()
    return taken


def plain_while_sounding(folder: Path, times: int) -> list[float]:
    """Return the milliseconds to the next line's player, a key coming half a second into a line."""
    plain = Plain(folder, player=TELLS_AND_LASTS)
    taken = []
    for number in range(1, times + 1):
        plain.started_after(plain.key(line(number)))
        time.sleep(SOUNDING_SECONDS)
        at = plain.key(line(number + 1))
        taken.append(plain.started_after(at))
        time.sleep(LINE_SECONDS)
    plain.close()
    return taken


def cold(folder: Path, times: int, engine: Engine) -> list[float]:
    """Return the milliseconds from starting Python to the first line in the queue."""
    path = os.pathsep.join(sys.path)
    taken = []
    for _ in range(times):
        start = time.monotonic_ns()
        ended = subprocess.run(
            [sys.executable, "-c", COLD, folder, engine],
            env={**os.environ, "PYTHONPATH": path},
            stdout=subprocess.PIPE,
            text=True,
            check=True,
        )
        taken.append((int(ended.stdout) - start) / 1e6)
    return taken


def plain_cold(folder: Path, times: int) -> list[float]:
    """Return the milliseconds from starting Python to plain pyttsx3's first player."""
    taken = []
    for number in range(times):
        apart = folder / str(number)
        apart.mkdir()
        start = time.monotonic_ns()
        plain = Plain(apart, player=TELLS)
        plain.key(line(37))
        taken.append(plain.started_after(start))
        plain.close()
    return taken


def show(name: str, taken: Sequence[float], against: float | None = None) -> float:
    """Print one row and return its median."""
    spoken = [value for value in taken if value != NOTHING]
    median = statistics.median(spoken)
    p95 = statistics.quantiles(spoken, n=20, method="inclusive")[-1]
    lost = f"   {len(taken) - len(spoken)} LOST" if len(spoken) < len(taken) else ""
    ratio = f"   {against / median:8.1f} times sooner" if against else ""
    print(f"{name:44} median {median:9.2f} ms   p95 {p95:9.2f} ms{ratio}{lost}")
    return median


def heard(folder: Path, times: int, few: int) -> None:
    """Print what comes out of a real loudspeaker, if there is PulseAudio to make one of."""
    if not has_sound_server():
        print("PulseAudio is not installed: nothing was measured out of a loudspeaker")
        return
    server = SoundServer(folder)
    server.start()
    os.environ["ALSA_CONFIG_PATH"] = str(server.alsa)
    try:
        plain = show(f"pyttsx3 say, heard ({few} keys)", plain_heard(server, folder, few))
        for case, taken in ours_heard(server, folder / "clips", times).items():
            show(f"ours, {case}, heard", taken, plain)
    finally:
        server.kill()


def main() -> None:
    """Print the table."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    few = max(3, times // 10)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("rest", "sounding", "cold", "server"):
            (folder / part).mkdir()
        print(f"1. Key to speech, {times} keys each; load {os.getloadavg()[0]:.1f}")
        rest = show("pyttsx3 say, player started", plain_at_rest(folder / "rest", times))
        busy_with = {}
        for engine in ENGINES:
            for case, taken in ours(folder / "clips", times, engine).items():
                show(f"ours, {engine}, {case}, queued", taken, rest)
            busy_with[engine] = taken
        print(f"2. Key while a line is sounding, {few} keys, {SOUNDING_SECONDS} s into it")
        busy = show("pyttsx3 say", plain_while_sounding(folder / "sounding", few))
        for engine, taken in busy_with.items():
            show(f"ours, {engine}, made ahead, queued", taken, busy)
        print("3. Key to the first sound out of the loudspeaker")
        heard(folder / "server", times, few)
        print(f"4. From starting Python to the first line, {few} starts each")
        first = show("pyttsx3, player started", plain_cold(folder / "cold", few))
        for engine in ENGINES:
            empty = [cold(folder / f"{engine}{number}", 1, engine)[0] for number in range(few)]
            show(f"ours, {engine}, empty store, queued", empty, first)
            kept = cold(folder / "clips", few, engine)
            show(f"ours, {engine}, line in the store, queued", kept, first)


if __name__ == "__main__":
    main()
