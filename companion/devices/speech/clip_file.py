"""A sound file as the speech engine left it, and whether it can be what was asked for."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from companion.base.errors import AudioError
from companion.devices.audio import wav
from companion.devices.audio.clip import SAMPLE_BYTES, Clip
from companion.devices.speech.worker_process import WorkerError

if TYPE_CHECKING:
    from pathlib import Path

MIN_PEAK = 800
"""A spoken clip is louder than this somewhere (of 32767); espeak-ng's reach 16000."""
LETTERS_A_WORD = 5


def checked(path: Path, text: str, words_per_minute: int) -> Clip:
    """Return the clip in a file, or raise if it cannot be the text spoken."""
    try:
        clip = _read(path)
    except (AudioError, OSError, OverflowError) as error:
        raise WorkerError(f"the speech file cannot be read: {error}") from None
    if clip.peak < MIN_PEAK:
        raise WorkerError("the speech engine made a silent clip")
    spoken = sum(character.isalnum() for character in text)
    usual_seconds = spoken / LETTERS_A_WORD * 60 / words_per_minute
    # Words average five letters; a quarter of that is nobody's speech. Digits take far longer.
    if not usual_seconds / 4 <= clip.seconds <= 3 + 20 * usual_seconds:
        raise WorkerError(f"the speech engine made {clip.seconds:.2f} s of {text[:40]!r}")
    return clip


def _read(path: Path) -> Clip:
    content = path.read_bytes()
    return _aiff(content) if content[:4] == b"FORM" else wav.read(path)


def _aiff(content: bytes) -> Clip:
    """Read what the macOS driver writes; tried on files of Python's `aifc`, never on a Mac."""
    at, rate, pcm, is_swapped = 12, 0, b"", True
    while at + 8 <= len(content):
        name, size = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "big")
        body = content[at + 8 : at + 8 + size]
        if name == b"COMM":
            # An 80-bit float: exponent in two bytes, then the mantissa.
            exponent = int.from_bytes(body[8:10], "big") - 16383 - 63
            rate = round(int.from_bytes(body[10:18], "big") * 2.0**exponent)
            is_swapped = body[18:22] != b"sowt"
        elif name == b"SSND":
            pcm = body[8:]
        at += 8 + size + size % 2
    samples = array("h", pcm[: len(pcm) // SAMPLE_BYTES * SAMPLE_BYTES])
    if is_swapped:
        samples.byteswap()
    return Clip(samples.tobytes(), rate or 22050)
