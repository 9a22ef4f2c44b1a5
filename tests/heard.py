"""What is in a WAV file that was made: its labels, and the sounds between its silences.

The labels are read by a reader of their own, from the layout in "Multimedia Programming Interface
and Data Specifications 1.0", IBM and Microsoft, August 1991: `cue ` with `LIST` `adtl`.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from companion.devices.audio import wav
from companion.devices.audio.clip import QUIET

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from companion.devices.audio.clip import Clip


class Segment(NamedTuple):
    """A sound between silences, in seconds from the beginning."""

    start: float
    end: float

    @property
    def seconds(self) -> float:
        return self.end - self.start


class Label(NamedTuple):
    """A name given to a moment of a recording."""

    seconds: float
    text: str


def labels(path: Path) -> list[Label]:
    """Return the labels of a WAV file in the order of time; none is an empty list."""
    rate = wav.read(path).rate
    chunks = dict(_chunks(path.read_bytes()[12:]))
    cue, listed = chunks.get(b"cue ", b""), chunks.get(b"LIST", b"")
    points = struct.iter_unpack("<II4sIII", cue[4:])
    frames = {number: frame for number, _, _, _, _, frame in points}
    bodies = [body for name, body in _chunks(listed[4:]) if name == b"labl"]
    texts = {int.from_bytes(body[:4], "little"): body[4:].rstrip(b"\0") for body in bodies}
    return sorted(Label(frames[number] / rate, text.decode()) for number, text in texts.items())


def segments(clip: Clip, *, silence_seconds: float = 0.6) -> list[Segment]:
    """Return the sounds of a clip that are parted by at least so much silence."""
    loud = np.flatnonzero(np.abs(clip.samples.astype(np.int32)) > QUIET)
    if not len(loud):
        return []
    breaks = np.flatnonzero(np.diff(loud) > silence_seconds * clip.rate)
    starts = np.concatenate(([loud[0]], loud[breaks + 1]))
    ends = np.concatenate((loud[breaks], [loud[-1]])) + 1
    pairs = zip(starts.tolist(), ends.tolist(), strict=True)
    return [Segment(start / clip.rate, end / clip.rate) for start, end in pairs]


def _chunks(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield each chunk's name and body."""
    while content:
        name, size = struct.unpack_from("<4sI", content)
        yield name, content[8 : 8 + size]
        content = content[8 + size + size % 2 :]
