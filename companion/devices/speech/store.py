"""Clips kept on disk, so that a line once spoken is ready at once the next time."""

import hashlib
import json
import os
import struct
import zlib
from pathlib import Path

from companion.base.files import make_folder, replacing
from companion.devices.audio.clip import Clip

MAX_BYTES = 200_000_000
"""How much the store may hold: more than an hour of speech."""
PRUNED_PART = 0.8
"""How full it is left when the oldest clips are taken out."""
FORMAT = 1
"""Part of each key; a new number leaves older clips to be pruned."""
_HEAD = struct.Struct("<4sIII")
_MAGIC = b"clip"


class ClipStore:
    """A folder of clips; any process may share it and any thread may use it.

    A clip that is damaged, by a full disk or a fault of the disk, counts as not there. A folder
    that cannot be written keeps nothing and says nothing: speech goes on without it.

    The folder is made when the first clip is kept; beyond `MAX_BYTES` the clips longest unused are
    taken out.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._bytes: int | None = None

    @staticmethod
    def key(engine: str, voice: str, words_per_minute: int, text: str) -> str:
        """Return the name of a clip: all that its sound depends on, as one digest."""
        parts = json.dumps([FORMAT, engine, voice, words_per_minute, text])
        return hashlib.sha256(parts.encode()).hexdigest()

    def get(self, key: str) -> Clip | None:
        """Return the clip, or None if it is not there or not whole."""
        path = self._path(key)
        try:
            content = path.read_bytes()
            os.utime(path)  # used now, so pruned late
        except OSError:
            return None
        return _unpacked(content)

    def put(self, key: str, clip: Clip) -> None:
        """Keep a clip, whole or not at all."""
        content = _HEAD.pack(_MAGIC, clip.rate, len(clip.pcm), zlib.crc32(clip.pcm)) + clip.pcm
        path = self._path(key)
        try:
            make_folder(path.parent)
            with replacing(path, is_flushed=False) as part:
                part.write_bytes(content)
        except OSError:
            return
        self._note_growth(len(content))

    def _path(self, key: str) -> Path:
        return self._folder / key[:2] / key

    def _note_growth(self, size: int) -> None:
        if self._bytes is None:
            self._bytes = sum(size for _, size, _ in self._files())
        else:
            self._bytes += size
        if self._bytes > MAX_BYTES:
            self._prune()

    def _prune(self) -> None:
        files = sorted(self._files())
        total = sum(size for _, size, _ in files)
        for _, size, path in files:
            if total <= MAX_BYTES * PRUNED_PART:
                break
            path.unlink(missing_ok=True)
            total -= size
        self._bytes = total

    def _files(self) -> list[tuple[float, int, Path]]:
        """Return when each file was last used, its size and where it is."""
        found = []
        for path in self._folder.glob("??/*"):
            try:
                status = path.stat()
            except OSError:
                continue  # another process pruned it
            found.append((status.st_mtime, status.st_size, path))
        return found


def _unpacked(content: bytes) -> Clip | None:
    if len(content) < _HEAD.size:
        return None
    magic, rate, length, check = _HEAD.unpack_from(content)
    pcm = content[_HEAD.size :]
    if magic != _MAGIC or len(pcm) != length or zlib.crc32(pcm) != check or not rate:
        return None
    return Clip(pcm, rate)
