"""A sound file as the speech engine left it, and whether it can be what was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.audio import wav
from companion.audio.clip import Clip
from companion.errors import AudioError
from companion.speech.worker_process import WorkerError

if TYPE_CHECKING:
    from pathlib import Path

MIN_PEAK = 800
"""A spoken clip is louder than this somewhere (of 32767); espeak-ng's reach 16000."""
LETTERS_A_WORD = 5


def checked(path: Path, text: str, words_per_minute: int) -> Clip:
    """Return the clip in a file, or raise if it cannot be the text spoken."""
    try:
        clip = _read(path)
    except (AudioError, OSError, IndexError) as error:
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
    """Read what the macOS driver writes. Untested: no such machine was at hand."""
    at, rate, pcm = 12, 0, b""
    while at + 8 <= len(content):
        name, size = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "big")
        body = content[at + 8 : at + 8 + size]
        if name == b"COMM":
            # An 80-bit float: exponent in two bytes, then the mantissa.
            exponent = int.from_bytes(body[8:10], "big") - 16383 - 63
            rate = round(int.from_bytes(body[10:18], "big") * 2.0**exponent)
        elif name == b"SSND":
            pcm = body[8:]
        at += 8 + size + size % 2
    return Clip(_swapped(pcm), rate or 22050)


def _swapped(big_endian: bytes) -> bytes:
    swapped = bytearray(big_endian)
    swapped[0::2], swapped[1::2] = big_endian[1::2], big_endian[0::2]
    return bytes(swapped)
