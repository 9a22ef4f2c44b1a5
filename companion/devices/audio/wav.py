"""WAV files: reading, and writing that survives a kill.

The layout is RIFF/WAVE as in "Multimedia Programming Interface and Data Specifications 1.0",
IBM and Microsoft, August 1991: `fmt `, `data`, and, for labels, `cue ` with `LIST` `adtl`.
"""

import struct
from pathlib import Path
from typing import Literal

from companion.base.errors import AudioError
from companion.devices.audio.clip import SAMPLE_BYTES, Clip, mono

HEADER_BYTES = 44
MAX_DATA_BYTES = 0xFFFF_FFFF - (1 << 24)
"""A WAV file counts its bytes in 32 bits; the rest is kept for the labels."""
_PCM, _EXTENSIBLE = 1, 0xFFFE


class WavWriter:
    """A mono 16-bit WAV file that is whole after every `write`, so a kill costs only the labels.

    An existing file is replaced. Raises AudioError where the file cannot be made or written.
    """

    def __init__(self, path: Path, rate: int) -> None:
        self.path = path
        self.rate = rate
        self.frames = 0
        self._labels: list[tuple[int, str]] = []
        try:
            self._file = path.open("wb")
            self._file.write(_header(self.rate, 0, 0))
            self._file.flush()
        except OSError as error:
            raise _unwritable(path, error) from None

    def label(self, text: str) -> None:
        """Name this moment; labels are written by `close`."""
        self._labels.append((self.frames, text))

    def write(self, clip: Clip) -> None:
        """Append a clip of the file's own rate and mend the header."""
        if clip.rate != self.rate:
            raise ValueError(f"expected a clip at {self.rate} samples a second, not {clip.rate}")
        if SAMPLE_BYTES * self.frames + len(clip.pcm) > MAX_DATA_BYTES:
            raise AudioError(f"{self.path}: the sound file is full; go on with another one.")
        self.frames += clip.frames
        self._put(clip.pcm, 0)

    def close(self) -> None:
        """Write the labels and close the file; doing it twice does no harm."""
        if self._file.closed:
            return
        labels = _label_chunks(self._labels)
        self._put(labels, len(labels))
        self._file.close()

    def _put(self, data: bytes, label_bytes: int) -> None:
        try:
            self._file.write(data)
            self._file.seek(0)
            self._file.write(_header(self.rate, SAMPLE_BYTES * self.frames, label_bytes))
            self._file.seek(0, 2)
            self._file.flush()
        except OSError as error:
            raise _unwritable(self.path, error) from None


def wav_bytes(clip: Clip) -> bytes:
    """Return a clip as a whole WAV file."""
    return _header(clip.rate, len(clip.pcm), 0) + clip.pcm


def read(path: Path) -> Clip:
    """Return a 16-bit WAV file as one mono clip, channels averaged; AudioError for any other.

    A length in the header that is beyond the file's end, as programs that stream leave it, is
    taken as "to the end".
    """
    chunks = _chunks(path)
    layout = chunks.get(b"fmt ", b"")
    if len(layout) < 16 or b"data" not in chunks:  # noqa: PLR2004 - the fixed part of `fmt `
        raise AudioError(
            f"{path}: expected a WAV file with sound in it; record or convert it again."
        )
    kind, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", layout)
    if kind not in (_PCM, _EXTENSIBLE) or bits != 8 * SAMPLE_BYTES or not channels or not rate:
        raise AudioError(
            f"{path}: expected 16-bit PCM, found format {kind} with {bits} bits; "
            "convert it to a 16-bit WAV file."
        )
    return Clip(mono(chunks[b"data"], channels), rate)


def _chunks(path: Path) -> dict[bytes, bytes]:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise AudioError(f"{path} cannot be read: {error.strerror}. Check the name.") from None
    if content[:4] != b"RIFF" or content[8:12] != b"WAVE":
        raise AudioError(f"{path}: expected a WAV file, found something else; check the name.")
    return chunks_of(content, "<")


def chunks_of(content: bytes, order: Literal["<", ">"]) -> dict[bytes, bytes]:
    """Return the chunks of a RIFF ("<") or AIFF (">") file by name, cut to what there is."""
    found, at = {}, 12
    while at + 8 <= len(content):
        name, size = struct.unpack_from(f"{order}4sI", content, at)
        found[name] = content[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
    return found


def _header(rate: int, data_bytes: int, label_bytes: int) -> bytes:
    layout = struct.pack("<HHIIHH", _PCM, 1, rate, rate * SAMPLE_BYTES, SAMPLE_BYTES, 16)
    riff_bytes = HEADER_BYTES - 8 + data_bytes + label_bytes
    return (
        struct.pack("<4sI4s", b"RIFF", riff_bytes, b"WAVE")
        + _chunk(b"fmt ", layout)
        + struct.pack("<4sI", b"data", data_bytes)
    )


def _label_chunks(marks: list[tuple[int, str]]) -> bytes:
    if not marks:
        return b""
    cue = struct.pack("<I", len(marks))
    listed = b"adtl"
    for number, (frame, text) in enumerate(marks, start=1):
        cue += struct.pack("<II4sIII", number, frame, b"data", 0, 0, frame)
        listed += _chunk(b"labl", struct.pack("<I", number) + text.encode() + b"\0")
    return _chunk(b"cue ", cue) + _chunk(b"LIST", listed)


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack("<4sI", name, len(body)) + body + b"\0" * (len(body) % 2)


def _unwritable(path: Path, error: OSError) -> AudioError:
    return AudioError(f"{path}: the sound file cannot be written: {error.strerror}.")
