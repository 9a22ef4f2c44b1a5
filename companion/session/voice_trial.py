"""Both voices, heard one after the other, and the search for a weaver's own speed."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from companion.base.lines import Tell
from companion.base.numerals import read_numbers
from companion.devices.audio.clip import Clip
from companion.devices.audio.tones import ToneName
from companion.devices.speech.clips import Clips
from companion.devices.speech.make import engines_for, is_installed, make_clips, make_voice
from companion.devices.speech.rate_search import RateSearch, numbers
from companion.devices.speech.synthesis import EngineName
from companion.devices.speech.voice import Voice
from companion.settings import Settings
from companion.wording import Style, voices
from companion.wording.voice import speak

Ask = Callable[[], str]
"""Returns a line that was typed, in small letters; `QUIT` at the end of input."""

QUIT: Final = "q"
LINE_SECONDS: Final = 30.0
"""The longest wait for a line to be heard."""


class Trial:
    """A voice that can be either, by `switch`, from which its clips come; lines are printed too."""

    def __init__(self, voice: Voice, switch: Switch, tell: Tell) -> None:
        self.voice = voice
        self._switch = switch
        self._tell = tell

    @property
    def engines(self) -> tuple[EngineName, ...]:
        """What can be heard, in the order of their numbers."""
        return tuple(self._switch.clips)

    def use(self, engine: EngineName) -> None:
        """Speak by one of them from now on."""
        self._switch.engine = engine

    def say(self, line: str) -> None:
        """Print and speak a line, and wait until it has been heard."""
        self._tell(line)
        self.voice.play([speak(line, Style())])
        self.voice.wait(LINE_SECONDS)

    def say_by_each(self) -> None:
        """Say the same callouts by each."""
        present = self._switch.engine
        for number, engine in enumerate(self.engines, start=1):
            self.use(engine)
            self.say(voices.sample(number, engine))
        self.use(present)

    def find_rate(self, begin: int, ask: Ask, chance: random.Random) -> int:
        """Say numbers ever faster, have each keyed back, and return the weaver's words a minute.

        0 where she ended it before any speed was passed.
        """
        self.say(voices.HOW_TO_KEY)
        search = RateSearch(begin)
        answered: list[ToneName] = []
        for number in numbers(chance):
            self.voice.set_rate(search.rate)
            self.voice.play([*answered, speak(voices.to_key(number), Style())])
            typed = ask()
            if typed == QUIT:
                break
            is_right = read_numbers(typed, "en") == (number,)
            if not is_right:
                self._tell(voices.it_was(number))
            answered = [ToneName.CONFIRM if is_right else ToneName.REFUSE]
            search = search.heard(is_right=is_right)
            if search.is_over:
                break
        self.voice.set_rate(begin)
        return search.own_rate


class Switch:
    """Clips of whichever engine is chosen."""

    def __init__(self, clips: dict[EngineName, Clips], engine: EngineName) -> None:
        self.clips = clips
        self.engine = engine

    def check(self) -> None:
        """Wait until the chosen engine can speak; raise SpeechError where it cannot."""
        self.clips[self.engine].check()

    def clip(self, text: str, words_per_minute: int) -> Clip:
        """Return the line as speech."""
        return self.clips[self.engine].clip(text, words_per_minute)

    def close(self) -> None:
        """Let every maker go."""
        for clips in self.clips.values():
            clips.close()


@contextmanager
def trial(settings: Settings, tell: Tell, audio_out: Path | None = None) -> Iterator[Trial]:
    """Open a trial of the voices there are; what does not work is told."""
    speech = settings.speech
    engines: tuple[EngineName, ...] = ("natural", "system") if is_installed() else ("system",)
    clips = {engine: make_clips(engine, speech.voice, tell) for engine in engines}
    switch = Switch(clips, engines_for(speech.engine)[0])
    with closing(make_voice(settings, tell, audio_out=audio_out, clips=switch)) as voice:
        yield Trial(voice, switch, tell)
