"""Speech said faster or slower at its own pitch.

The method is that of W. Verhelst and M. Roelands, "An overlap-add technique based on waveform
similarity (WSOLA) for high quality time-scale modification of speech", ICASSP 1993: short pieces
of the sound are laid over one another at a new distance, each taken from where it goes on best
from the piece before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

PIECE_SECONDS = 0.03
"""Holds some pitch periods of any voice, and no whole sound of speech."""
SEARCH_SECONDS = 0.008
"""How far a piece may be moved either way: a period of 62 Hz, lower than any voice."""
_SILENT = 1e-6


def stretched(sound: NDArray[np.float32], rate: int, speed: float) -> NDArray[np.float32]:
    """Return samples, of shape (frames,), at another speed and the same pitch; 2 is double."""
    hop = round(PIECE_SECONDS * rate / 2)
    size, search = 2 * hop, round(SEARCH_SECONDS * rate)
    count = round(len(sound) / speed / hop) + 2
    # So much silence around it that no piece and no search reaches beyond.
    lead = size + search
    trail = lead + max(0, round(count * hop * speed) - len(sound)) + size
    padded: NDArray[np.float64] = np.concatenate((np.zeros(lead), sound, np.zeros(trail)))
    fade: NDArray[np.float64] = np.hanning(size + 1)[:size]
    out = np.zeros((count + 1) * hop)
    at = lead - hop
    for number in range(count):
        if number:
            due = lead - hop + round(number * hop * speed)
            at = _nearest(padded, padded[at + hop : at + hop + size], due, search)
        out[number * hop : number * hop + size] += fade * padded[at : at + size]
    return out[hop : hop + round(len(sound) / speed)].astype(np.float32)


def _nearest(sound: NDArray[np.float64], wanted: NDArray[np.float64], due: int, search: int) -> int:
    """Return where, at most `search` samples from `due`, the sound is most like what is wanted."""
    size = len(wanted)
    around = sound[due - search : due + search + size]
    likeness = np.correlate(around, wanted)
    power = np.cumsum(np.concatenate(([0.0], around**2)))
    return due - search + int(np.argmax(likeness / np.sqrt(power[size:] - power[:-size] + _SILENT)))
