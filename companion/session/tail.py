"""Play a tone, hear it, and set how long to be deaf after our own voice, for this loudspeaker."""

from __future__ import annotations

from statistics import median_low
from typing import TYPE_CHECKING

from companion.devices.audio.tones import NOTES, ToneName
from companion.devices.hearing.settings import FRAME_SAMPLES, FRAME_SECONDS, HearingSettings
from companion.devices.hearing.tail import TailMeter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.devices.audio.microphone import Block
    from companion.devices.speech import Voice

_TONE = ToneName.FINISH
_TIMES = 3
_QUIET_SECONDS = 0.5
"""How much of the room is heard before each tone."""
_LONGEST_SECONDS = 8.0
"""A tone that has not ended by then is given up."""
_MOST_APART_SECONDS = 0.25
_FRAME_BYTES = 2 * FRAME_SAMPLES


def measure_tail(blocks: Iterator[Block], voice: Voice) -> float | None:
    """Return the tail to be set, in seconds; None where the microphone does not hear the tone.

    The longest of the tones heard counts, and one frame more; two of three must be heard. One that
    a busy machine held up far beyond the others is left out.
    """
    frames = _frames(blocks, voice)
    tails = [tail for _ in range(_TIMES) if (tail := _one_tail(frames, voice)) is not None]
    if len(tails) < _TIMES - 1:
        return None
    usual = median_low(tails)
    longest = max(tail for tail in tails if tail <= usual + _MOST_APART_SECONDS)
    return max(HearingSettings().tail_seconds, longest + FRAME_SECONDS)


def _one_tail(frames: Iterator[tuple[bytes, bool]], voice: Voice) -> float | None:
    meter = TailMeter(NOTES[_TONE][-1].hertz)
    for count, (frame, is_sounding) in enumerate(frames, 1):
        meter.frame(frame, is_sounding=is_sounding)
        if count == HearingSettings.frames(_QUIET_SECONDS):
            voice.play([_TONE])
        if meter.is_over or count * FRAME_SECONDS > _LONGEST_SECONDS:
            break
    return meter.tail_seconds


def _frames(blocks: Iterator[Block], voice: Voice) -> Iterator[tuple[bytes, bool]]:
    """Yield the sound frame by frame, each with whether our voice is held to be sounding."""
    rest = b""
    for block in blocks:
        rest += block.pcm16
        while len(rest) >= _FRAME_BYTES:
            frame, rest = rest[:_FRAME_BYTES], rest[_FRAME_BYTES:]
            yield frame, voice.is_speaking
