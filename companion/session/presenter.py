"""Puts the guide's effects into print and sound, in the order the guide gave them."""

import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import IO, Literal

import click

from companion.base.clean import clean_text
from companion.base.errors import JournalError
from companion.devices.audio.tones import ToneName
from companion.devices.speech.voice import Item, TwoVoices, Voice, kept_rate
from companion.guide.effects import ChangeRate, Effects, Keep, Leave, Say, Tone, Tune
from companion.guide.messages import StepCall
from companion.guide.terms import Message
from companion.wording import Style, notices, render
from companion.wording.voice import speak

Listener = Callable[[str, Tune | None], None]
Weight = Literal["plain", "strong"]
RATE_STEP = 20
"""Words per minute by which "slower" and "faster" change the speech."""


class Console:
    """Prints one event a line, at once.

    The line to act on is bold on a terminal; that is the only decoration, and it goes away when
    NO_COLOR is set and not empty, on TERM=dumb, or when the output is not a terminal.
    """

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream
        self._is_decorated = (
            stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
        )

    def line(self, text: str, weight: Weight = "plain") -> None:
        """Print one line, whoever named what is in it, and flush it for the screen reader."""
        text = clean_text(text)
        if weight == "strong" and self._is_decorated:
            text = click.style(text, bold=True)
        self._stream.write(text + "\n")
        self._stream.flush()


class Presenter:
    """Prints every line and hands it to the voice; new speech takes the place of old."""

    def __init__(
        self, console: Console, voice: Voice, style: Style, *, has_tones: bool = True
    ) -> None:
        self._console = console
        self._voice = voice
        self._style = style
        self._has_tones = has_tones
        self._listeners: list[Listener] = []
        self.wishes: dict[str, str] = {}
        """What was changed during the walk, by the name of the setting."""
        self.said = ""
        """What is being said, or was said last."""

    @property
    def words_per_minute(self) -> int:
        """The speed of the speech now."""
        return self._style.words_per_minute

    @property
    def language(self) -> str:
        """The language of the commands."""
        return self._style.language

    @property
    def is_speaking(self) -> bool:
        """Whether anything said is still to be heard."""
        return self._voice.is_speaking

    def listen(self, listener: Listener) -> None:
        """Have a listener told each line as it is printed, with the tone that goes with it."""
        self._listeners.append(listener)

    def speak_also(self, voice: Voice) -> TwoVoices:
        """Have another voice say all that is said from now on; return both together."""
        both = TwoVoices(self._voice, voice)
        self._voice = both
        return both

    def perform(self, effects: Effects, *, interrupt: bool = True) -> bool:
        """Carry out effects; return whether one of them was Leave.

        What is heard begins before anything is printed: hands wait for the voice, not for the text.
        """
        items: list[Item] = []
        lines: list[tuple[str, Tune | None, Weight]] = []
        is_leaving = False
        tune = next((effect.tune for effect in effects if isinstance(effect, Tone)), None)
        for effect in effects:
            match effect:
                case Say(message):
                    utterance = render(message, self._style)
                    is_step = isinstance(message, StepCall)
                    items.append(utterance.spoken)
                    lines.append((utterance.text, tune, "strong" if is_step else "plain"))
                case Tone(tune) if self._has_tones:
                    items.append(ToneName(tune))
                case ChangeRate(direction):
                    self._change_rate(direction)
                case Keep(wish, value):
                    self.wishes[f"walk.{wish}"] = value
                case Leave():
                    is_leaving = True
        if items:
            self._play(items, interrupt=interrupt)
        for line in lines:
            self._line(*line)
        return is_leaving

    def notice(self, text: str, aloud: str = "") -> None:
        """Print and speak a plain line that is not the guide's, after what is being said.

        `aloud` is said in its place, where that is shorter.
        """
        self._line(text)
        self._play([speak(aloud or text, self._style)], interrupt=False)

    def not_kept(self, error: JournalError) -> None:
        """Tell why something is not on record."""
        self.notice(notices.not_kept(error), notices.not_kept(error.aloud))

    def refuse(self, text: str) -> None:
        """Sound the refusing tone after what is being said, and print why; say nothing."""
        self._line(text, "refuse")
        if self._has_tones:
            self._voice.play([ToneName.REFUSE], interrupt=False)

    def prepare(self, messages: Iterable[Message]) -> None:
        """Have the clips of likely next lines made ahead."""
        self._voice.prepare([render(message, self._style).spoken for message in messages])

    def _play(self, items: list[Item], *, interrupt: bool) -> None:
        lines = [item for item in items if not isinstance(item, ToneName)]
        self.said = lines[-1] if lines else self.said
        self._voice.play(items, interrupt=interrupt)

    def _line(self, text: str, tune: Tune | None = None, weight: Weight = "plain") -> None:
        self._console.line(text, weight)
        for listener in self._listeners:
            listener(text, tune)

    def _change_rate(self, direction: int) -> None:
        rate = self.words_per_minute + direction * RATE_STEP
        self._style = replace(self._style, words_per_minute=kept_rate(rate))
        self.wishes["speech.words_per_minute"] = str(self.words_per_minute)
        self._voice.set_rate(self.words_per_minute)
