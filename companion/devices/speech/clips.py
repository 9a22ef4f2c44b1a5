"""Lines into clips: from memory, from the store, or made."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING, Protocol

from companion.devices.audio.clip import trimmed
from companion.devices.speech.store import ClipStore

if TYPE_CHECKING:
    from companion.devices.audio.clip import Clip

REMEMBERED = 64
"""Clips held in memory; some 100 kB each."""


class Maker(Protocol):
    """Makes speech; `companion.devices.speech.synthesis.Synthesiser` is the real one."""

    voice: str

    def check(self) -> str:
        """Return the engine's name, or raise SpeechError."""

    def make(self, text: str, words_per_minute: int) -> Clip:
        """Return the text as speech, or raise SpeechError."""

    def close(self) -> None:
        """Let the engine go."""


class Clips:
    """Gives clips of lines, trimmed to 10 ms of silence before and 30 ms after.

    Args:
        maker: makes what is not there yet.
        store: keeps what was made.
    """

    def __init__(self, maker: Maker, store: ClipStore) -> None:
        self._maker = maker
        self._store = store
        self._engine = ""
        self._remembered: OrderedDict[str, Clip] = OrderedDict()
        self._lock = threading.Lock()

    def clip(self, text: str, words_per_minute: int) -> Clip:
        """Return the line as speech.

        Raises:
            SpeechError: it is not in the store and could not be made.
        """
        key = self._key(text, words_per_minute)
        clip = self._recalled(key) or self._store.get(key)
        if clip is None:
            clip = trimmed(self._maker.make(text, words_per_minute))
            # Asked again: an unknown voice is only found out, and replaced, by speaking.
            key = self._key(text, words_per_minute)
            self._store.put(key, clip)
        self._remember(key, clip)
        return clip

    def close(self) -> None:
        """Let the maker go."""
        self._maker.close()

    def _key(self, text: str, words_per_minute: int) -> str:
        if not self._engine:
            self._engine = self._maker.check()
        return ClipStore.key(self._engine, self._maker.voice, words_per_minute, text)

    def _recalled(self, key: str) -> Clip | None:
        with self._lock:
            clip = self._remembered.get(key)
            if clip is not None:
                self._remembered.move_to_end(key)
            return clip

    def _remember(self, key: str, clip: Clip) -> None:
        with self._lock:
            self._remembered[key] = clip
            while len(self._remembered) > REMEMBERED:
                self._remembered.popitem(last=False)
