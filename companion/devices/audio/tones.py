"""Five short tones that tell the weaver what happened before any word is spoken.

They differ in rhythm as well as in pitch, so that one is known alone; they stay under 2 kHz, where
hearing holds longest with age, and carry overtones so that a small loudspeaker still sounds them.
The advice to make each sound differ in several ways at once is that of S. Brewster, P. Wright and
A. Edwards, "Experimentally derived guidelines for the creation of earcons", HCI 1995.
"""

from enum import Enum
from functools import lru_cache
from itertools import chain
from math import pi, sin
from typing import NamedTuple

from companion.devices.audio.clip import Clip, from_waveform

LOUDNESS = 0.35
"""Peak of a tone as a part of full scale: clear beside speech, never startling."""
EDGE_SECONDS = 0.008
"""Rise and fall of each note, so that none clicks."""
OVERTONES = ((1, 1.0), (2, 0.35), (3, 0.15))
"""Multiple of the note's pitch, and its share."""


class ToneName(Enum):
    """What a tone says."""

    CONFIRM = "confirm"
    """Heard and kept."""
    REFUSE = "refuse"
    """Heard, but no command here."""
    BOUNDARY = "boundary"
    """A group ends: count."""
    TROUBLE = "trouble"
    """Something is wrong; words follow."""
    FINISH = "finish"
    """The stage is done."""


class Note(NamedTuple):
    """One note; a pitch of 0 is a rest."""

    hertz: float
    seconds: float


NOTES: dict[ToneName, tuple[Note, ...]] = {
    ToneName.CONFIRM: (Note(523, 0.045), Note(659, 0.055)),
    ToneName.REFUSE: (Note(330, 0.06), Note(0, 0.04), Note(262, 0.08)),
    ToneName.BOUNDARY: (Note(587, 0.04), Note(0, 0.03)) * 2 + (Note(587, 0.04),),
    ToneName.TROUBLE: (Note(294, 0.035), Note(0, 0.02)) * 3 + (Note(294, 0.035),),
    ToneName.FINISH: (Note(392, 0.09), Note(587, 0.11)),
}


@lru_cache(maxsize=32)
def tone(name: ToneName, rate: int) -> Clip:
    """Return a tone of 80 to 200 ms at a sample rate."""
    return from_waveform(chain.from_iterable(_note(note, rate) for note in NOTES[name]), rate)


def _note(note: Note, rate: int) -> list[float]:
    times = [number / rate for number in range(round(note.seconds * rate))]
    if not note.hertz:
        return [0.0] * len(times)
    waveform = [_edge(time, note.seconds) * _wave(note.hertz, time) for time in times]
    loudest = max(map(abs, waveform))
    return [LOUDNESS * value / loudest for value in waveform]


def _wave(hertz: float, time: float) -> float:
    return sum(share * sin(2 * pi * hertz * order * time) for order, share in OVERTONES)


def _edge(time: float, seconds: float) -> float:
    """Return how far a note has risen or fallen, 0 to 1, as a squared sine."""
    nearest = min(time, seconds - time) / EDGE_SECONDS
    return float(sin(pi / 2 * min(1.0, max(0.0, nearest))) ** 2)
