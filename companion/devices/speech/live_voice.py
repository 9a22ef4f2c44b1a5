"""The voice that is heard: clips from the store or made at once, played on the loudspeaker."""

import threading
import time
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from typing import NamedTuple

from companion.base.errors import SpeechError
from companion.base.lines import Tell
from companion.devices.audio.clip import Clip, silence
from companion.devices.audio.playback import Playback
from companion.devices.audio.tones import ToneName, tone
from companion.devices.speech.voice import ClipSource, Item, Voice, kept_rate

TONE_RATE = 22050
PAUSE_AFTER_TONE, PAUSE_AFTER_LINE = 0.05, 0.3
"""Seconds between the items of one `play`."""
CLOSE_SECONDS = 2.0


class _Due(NamedTuple):
    """An item that waits to be played."""

    utterance: int
    item: Item
    pause_seconds: float
    """Silence before it."""
    words_per_minute: int


class LiveVoice(Voice):
    """Speaks on a loudspeaker; what is said now always goes before what may be said next.

    Two threads: one turns what is due into clips and queues them, one makes clips ahead while
    nothing is due. Every item carries the number of its `play`; one that was overtaken by an
    interrupting `play` is dropped wherever it is met, so that it can neither be heard nor count
    as the end of a later one.

    Args:
        clips: where the speech comes from.
        playback: where it goes.
        words_per_minute: speed to begin with.
        report: told once when lines cannot be made, and once when they can again.
    """

    def __init__(
        self, clips: ClipSource, playback: Playback, words_per_minute: int, report: Tell
    ) -> None:
        self._clips = clips
        self._playback = playback
        self._words_per_minute = kept_rate(words_per_minute)
        self._report = report
        self._changed = threading.Condition()
        self._due: deque[_Due] = deque()
        self._ahead: deque[tuple[str, int]] = deque()
        self._utterance = 0
        self._is_making = False
        self._is_closed = False
        self._is_mute = False
        self._threads = [
            threading.Thread(target=target, name=name, daemon=True)
            for target, name in ((self._speak, "voice"), (self._make_ahead, "clips-ahead"))
        ]
        for thread in self._threads:
            thread.start()

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        """Sound the items in order."""
        with self._changed:
            if interrupt:
                self._utterance += 1
                self._due.clear()
                self._playback.cancel()
            pause = PAUSE_AFTER_LINE if self.is_speaking and not interrupt else 0.0
            for item in items:
                self._due.append(_Due(self._utterance, item, pause, self._words_per_minute))
                pause = PAUSE_AFTER_TONE if isinstance(item, ToneName) else PAUSE_AFTER_LINE
            self._changed.notify_all()

    def prepare(self, lines: Sequence[str]) -> None:
        """Make clips ahead, in place of those asked for before."""
        with self._changed:
            self._ahead = deque((line, self._words_per_minute) for line in lines)
            self._changed.notify_all()

    def set_rate(self, words_per_minute: int) -> None:
        """Speak later lines at this speed; lines prepared at the old one are let be."""
        with self._changed:
            self._words_per_minute = kept_rate(words_per_minute)
            self._ahead = deque((line, self._words_per_minute) for line, _ in self._ahead)

    @property
    def is_speaking(self) -> bool:
        """Whether anything is due, being made, or not yet at the ear."""
        return bool(self._due) or self._is_making or self._playback.is_busy

    def wait(self, timeout: float) -> bool:
        """Wait for silence."""
        end = time.monotonic() + timeout
        with self._changed:
            is_queued = self._changed.wait_for(
                lambda: not self._due and not self._is_making, timeout
            )
        return is_queued and self._playback.wait(max(0.0, end - time.monotonic()))

    def close(self) -> None:
        """Fall silent and let go."""
        with self._changed:
            self._is_closed = True
            self._utterance += 1
            self._due.clear()
            self._ahead.clear()
            self._changed.notify_all()
        self._playback.cancel()
        for thread in self._threads:
            thread.join(CLOSE_SECONDS)
        self._playback.close()
        self._clips.close()

    def _speak(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._due or self._is_closed)
                if self._is_closed:
                    return
                due = self._due.popleft()
                self._is_making = True
            clip = self._clip(due)
            with self._changed:
                if clip is not None and due.utterance == self._utterance:
                    if due.pause_seconds:
                        self._playback.queue(silence(due.pause_seconds, clip.rate))
                    self._playback.queue(clip)
                self._is_making = False
                self._changed.notify_all()

    def _clip(self, due: _Due) -> Clip | None:
        if isinstance(due.item, ToneName):
            return tone(due.item, TONE_RATE)
        try:
            clip = self._clips.clip(due.item, due.words_per_minute)
        except SpeechError as error:
            if not self._is_mute:
                self._is_mute = True
                self._report(str(error))
            return None
        if self._is_mute:
            self._is_mute = False
            self._report("Speech is back.")
        return clip

    def _make_ahead(self) -> None:
        for name in ToneName:
            tone(name, TONE_RATE)  # kept by `tone`, so that none is late the first time
        while True:
            with self._changed:
                self._changed.wait_for(self._has_time)
                if self._is_closed:
                    return
                line, words_per_minute = self._ahead.popleft()
            with suppress(SpeechError):  # it is said when the line itself is due
                self._clips.clip(line, words_per_minute)

    def _has_time(self) -> bool:
        is_idle = not self._due and not self._is_making
        return self._is_closed or (is_idle and bool(self._ahead))
