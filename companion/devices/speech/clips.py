"""Lines into clips: from memory, from the store, or made."""

from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache
from typing import Protocol, TypeVar

from companion.base.errors import SpeechError
from companion.base.lines import Tell
from companion.devices.audio.clip import Clip, trimmed
from companion.devices.speech.store import ClipStore

Result = TypeVar("Result")

REMEMBERED = 64
"""Clips held in memory; some 100 kB each."""


class Maker(Hashable, Protocol):
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

    Each maker serves where those before it fail, and `report` is told when one begins to.
    """

    def __init__(self, makers: Sequence[Maker], store: ClipStore, report: Tell) -> None:
        self._makers = makers
        self._store = store
        self._report = report
        self._serving = makers[0]
        self._engines: dict[Maker, str] = {}
        self._made = lru_cache(REMEMBERED)(self._kept_or_made)

    def check(self) -> None:
        """Wait until an engine is loaded; SpeechError where none can be."""
        self._first(self._engine)

    def clip(self, text: str, words_per_minute: int) -> Clip:
        """Return the line as speech; SpeechError where it is not kept and could not be made."""
        return self._first(lambda maker: self._made(maker, text, words_per_minute))

    def close(self) -> None:
        """Let the makers go."""
        for maker in self._makers:
            maker.close()

    def _first(self, serve: Callable[[Maker], Result]) -> Result:
        """Return what the first maker that does not fail gives."""
        fault = SpeechError("No speech engine")
        for maker in self._makers:
            try:
                result = serve(maker)
            except SpeechError as error:
                fault = error
                continue
            if maker is not self._serving:
                self._serving = maker
                if maker is not self._makers[0]:
                    self._report(f"{fault} The system's own voice speaks instead.")
            return result
        raise fault

    def _kept_or_made(self, maker: Maker, text: str, words_per_minute: int) -> Clip:
        clip = self._store.get(self._key(maker, text, words_per_minute))
        if clip is None:
            clip = trimmed(maker.make(text, words_per_minute))
            # Asked again: an unknown voice is only found out, and replaced, by speaking.
            self._store.put(self._key(maker, text, words_per_minute), clip)
        return clip

    def _key(self, maker: Maker, text: str, words_per_minute: int) -> str:
        return ClipStore.key(self._engine(maker), maker.voice, words_per_minute, text)

    def _engine(self, maker: Maker) -> str:
        if maker not in self._engines:
            self._engines[maker] = maker.check()
        return self._engines[maker]
