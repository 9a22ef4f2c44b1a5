"""The voice of the pages: each device plays the clips that the server makes, if it is asked to."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from hashlib import sha256
from typing import Any, Final

from companion.devices.audio.tones import ToneName, tone
from companion.devices.audio.wav import wav_bytes
from companion.devices.speech import Item
from companion.devices.speech.voice import ClipSource, Voice, kept_rate
from companion.out.board.feed import Feed

CLIPS_KNOWN: Final = 300
"""Lines whose clips a page may still ask for."""
LONGEST_SECONDS: Final = 20.0
"""A page that does not tell of the end of its speech counts as silent after this."""
_TONE_RATE: Final = 22050


class PageVoice(Voice):
    """Tells the pages what to sound, and makes the clips they ask for; it is never waited for.

    `make` gives what turns lines into sound, at the first clip that is wanted.
    """

    def __init__(
        self,
        feed: Feed,
        make: Callable[[], ClipSource],
        words_per_minute: int,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._feed = feed
        self._make = make
        self._rate = kept_rate(words_per_minute)
        self._clock = clock
        self._lock = threading.Lock()
        # Making the maker takes seconds, and whoever asks for a page must not wait for that.
        self._making = threading.Lock()
        self._lines: OrderedDict[str, tuple[str, int]] = OrderedDict()
        self._clips: ClipSource | None = None
        self._sounding: dict[object, float] = {}

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        """Have every page that speaks sound the items in order."""
        sounds = [self._told(item) for item in items]
        self._feed.sound({"interrupt": interrupt, "items": sounds})

    def prepare(self, lines: Sequence[str]) -> None:
        """Have the pages fetch what will likely be wanted next."""
        self._feed.ahead([self._told(line)["clip"] for line in lines])

    def kept(self, phrases: Mapping[str, str]) -> dict[str, dict[str, Any]]:
        """Return phrases, each with the clip that a page fetches at once and keeps."""
        return {name: self._told(phrase) for name, phrase in phrases.items()}

    def set_rate(self, words_per_minute: int) -> None:
        """Speak later lines at this speed."""
        self._rate = kept_rate(words_per_minute)

    def sounding(self, page: object, *, is_on: bool) -> None:
        """Learn from a page that it speaks, or has fallen silent."""
        with self._lock:
            if is_on:
                self._sounding[page] = self._clock() + LONGEST_SECONDS
            else:
                self._sounding.pop(page, None)

    @property
    def is_speaking(self) -> bool:
        """Whether any page is to be heard."""
        now = self._clock()
        with self._lock:
            return any(end > now for end in self._sounding.values())

    def close(self) -> None:
        """Let the maker of clips go."""
        with self._making:
            if self._clips is not None:
                self._clips.close()

    def wav(self, name: str) -> bytes | None:
        """Return a clip as a WAV file, None for no such name, or raise SpeechError."""
        if name in {each.value for each in ToneName}:
            return wav_bytes(tone(ToneName(name), _TONE_RATE))
        with self._lock:
            line = self._lines.get(name)
        if line is None:
            return None
        with self._making:
            clips = self._clips = self._clips or self._make()
        return wav_bytes(clips.clip(*line))

    def _told(self, item: Item) -> dict[str, Any]:
        if isinstance(item, ToneName):
            return {"clip": item.value, "text": "", "pause": "short"}
        name = sha256(f"{self._rate} {item}".encode()).hexdigest()[:24]
        with self._lock:
            self._lines[name] = item, self._rate
            self._lines.move_to_end(name)
            while len(self._lines) > CLIPS_KNOWN:
                self._lines.popitem(last=False)
        return {"clip": name, "text": item, "pause": "long"}
