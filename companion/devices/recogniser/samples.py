"""The taught words on disk: one WAV file a recording, and a manifest that names them.

A recording is written, then the manifest, each through a temporary file that is renamed over the
old one, so that a crash leaves either the old set or the new one. File names carry no words: any
language and script can be taught on any file system.
"""

import hashlib
import json
import os
import wave
from collections.abc import Mapping
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

from companion.base.errors import ModelError
from companion.base.files import replace
from companion.devices.audio.clip import Clip
from companion.devices.audio.wav import wav_bytes
from companion.devices.recogniser.interface import SAMPLE_RATE
from companion.devices.recogniser.record import plainly

MANIFEST = "words.json"
_FORMAT = 1


@dataclass(frozen=True, slots=True)
class SampleSet:
    """Recordings as PCM: 16 kHz, 16 bit, one channel."""

    words: Mapping[str, tuple[bytes, ...]] = field(default_factory=dict)
    background: tuple[bytes, ...] = ()
    """The room and ordinary talk, to tell the words from."""


def save(folder: Path, samples: SampleSet) -> None:
    """Make `folder` hold exactly these recordings; ModelError where it cannot be written."""
    with plainly(folder):
        manifest = {
            "format": _FORMAT,
            "rate": SAMPLE_RATE,
            "words": {
                word: [_store(folder, take) for take in takes]
                for word, takes in samples.words.items()
            },
            "background": [_store(folder, sound) for sound in samples.background],
        }
        text = json.dumps(manifest, ensure_ascii=False, indent=1)
        replace(folder / MANIFEST, text.encode())
        _tidy(folder, manifest)


def load(folder: Path) -> SampleSet:
    """Return the recordings kept in `folder`, if any; ModelError where they are damaged."""
    path = folder / MANIFEST
    if not path.exists():
        return SampleSet()
    try:
        manifest = json.loads(path.read_text(encoding="utf-8"))
        return _read(folder, manifest)
    except (
        OSError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        EOFError,
        wave.Error,
    ) as error:
        raise ModelError(
            f"{path}: the taught words are damaged ({error}); restore the folder from a copy or "
            "remove it and teach the words again."
        ) from error


def _read(folder: Path, manifest: Any) -> SampleSet:
    if manifest["format"] != _FORMAT or manifest["rate"] != SAMPLE_RATE:
        raise ValueError(f"expected format {_FORMAT} at {SAMPLE_RATE} Hz")
    words = {
        str(word): tuple(_fetch(folder, entry) for entry in entries)
        for word, entries in manifest["words"].items()
    }
    return SampleSet(words, tuple(_fetch(folder, entry) for entry in manifest["background"]))


def write_wav(path: Path, pcm16: bytes) -> None:
    """Write 16 kHz, 16 bit, one channel as a WAV file, its folder too; ModelError if not."""
    with plainly(path):
        replace(path, wav_bytes(Clip(pcm16, SAMPLE_RATE)))


def _store(folder: Path, pcm16: bytes) -> dict[str, str]:
    """Write one recording under a name made from its content; return its entry."""
    data = wav_bytes(Clip(pcm16, SAMPLE_RATE))
    digest = hashlib.sha256(data).hexdigest()
    name = f"{digest[:16]}.wav"
    if not (folder / name).exists():
        replace(folder / name, data)
    return {"file": name, "sha256": digest}


def _fetch(folder: Path, entry: Mapping[str, str]) -> bytes:
    name = entry["file"]
    if name != os.path.basename(name):  # noqa: PTH119 - the text itself is judged, no path is made
        raise ValueError(f"{name!r} is not a plain file name")
    data = (folder / name).read_bytes()
    if hashlib.sha256(data).hexdigest() != entry["sha256"]:
        raise ValueError(f"{name} is not as it was written")
    with wave.open(BytesIO(data)) as file:
        return bytes(file.readframes(file.getnframes()))


def _tidy(folder: Path, manifest: Mapping[str, Any]) -> None:
    entries = [*manifest["background"], *(e for es in manifest["words"].values() for e in es)]
    named = {entry["file"] for entry in entries}
    for path in folder.glob("*.wav"):
        if path.name not in named:
            path.unlink(missing_ok=True)
