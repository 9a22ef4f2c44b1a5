"""The microphone of a page: sound that comes over the network, as blocks for an ear."""

import threading
from collections.abc import Callable, Iterator
from typing import Final

from companion.devices.audio.clip import SAMPLE_BYTES
from companion.devices.audio.microphone import Block, Resampler

WAITING_SECONDS: Final = 3.0
"""So much sound may wait to be listened to; at more all of it is dropped, as too late."""
_QUIET_SECONDS: Final = 0.25


class PageMicrophone:
    """Takes sound from any thread; one other takes its blocks.

    Args:
        rate: samples a second of what comes: 16 bit, little endian, one channel.
        ready: called once whoever listens is ready to.
        closed: called when nobody listens any more.

    Raises:
        AudioError: that rate cannot be brought to the one that is listened to.
    """

    is_live = True

    def __init__(self, rate: int, ready: Callable[[], None], closed: Callable[[], None]) -> None:
        self._resampler = Resampler(rate)
        self._most_bytes = round(WAITING_SECONDS * rate) * SAMPLE_BYTES
        self._ready, self._closed = ready, closed
        self._news = threading.Condition()
        self._waiting = bytearray()
        self._has_gap = False
        self._is_closed = False

    def give(self, pcm16: bytes) -> None:
        """Take a piece of sound."""
        with self._news:
            if len(self._waiting) + len(pcm16) > self._most_bytes:
                self._drop()
            self._waiting += pcm16
            self._news.notify()

    def lose(self) -> None:
        """Learn that some sound was lost on the way."""
        with self._news:
            self._has_gap = True

    def blocks(self) -> Iterator[Block]:
        """Yield sound as it comes, and nothing now and then while none comes."""
        while True:
            with self._news:
                self._news.wait_for(lambda: self._waiting or self._is_closed, _QUIET_SECONDS)
                if self._is_closed:
                    return
                sound, has_gap = bytes(self._waiting), self._has_gap
                self._waiting.clear()
                self._has_gap = self._has_gap and not sound
            yield Block(self._resampler.resampled(sound) if sound else b"", has_gap)

    def skip(self) -> None:
        """Drop what came while nobody was ready to listen."""
        with self._news:
            self._drop()
        self._ready()

    def close(self) -> None:
        """End `blocks`."""
        with self._news:
            was_closed, self._is_closed = self._is_closed, True
            self._news.notify()
        if not was_closed:
            self._closed()

    def _drop(self) -> None:
        self._waiting.clear()
        self._has_gap = True
