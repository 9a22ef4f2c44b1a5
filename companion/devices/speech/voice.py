"""What the session asks of a voice, and the voice of a room with another beside it."""

from collections.abc import Sequence
from typing import Protocol

from companion.devices.audio.clip import Clip
from companion.devices.audio.tones import ToneName
from companion.settings.schema import FASTEST, SLOWEST

Item = str | ToneName
"""A line to speak, or a tone."""


def kept_rate(words_per_minute: int) -> int:
    """Return the nearest speed that the voice can keep."""
    return min(max(words_per_minute, SLOWEST), FASTEST)


class Voice:
    """Speaks lines and sounds tones. Only one thread calls it.

    As it stands here it says nothing, makes nothing ahead, and is never heard: text only.
    """

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        """Sound lines, each one callout, and tones in order.

        To interrupt is to fall silent at once and drop whatever was waiting.
        """

    def prepare(self, lines: Sequence[str]) -> None:
        """Make the clips of lines wanted next, while nothing is due; earlier ones are dropped."""

    def set_rate(self, words_per_minute: int) -> None:
        """Speak lines asked for from now on at this speed, or the nearest it can keep."""

    @property
    def is_speaking(self) -> bool:
        """Whether anything is sounding, waiting, or still on its way to the ear."""
        return False

    def wait(self, timeout: float) -> bool:  # noqa: ARG002 - for those that are heard
        """Wait for silence at most so many seconds; tell whether it came."""
        return True

    def close(self) -> None:
        """Fall silent and let every device and process go; doing it twice does no harm."""


class ClipSource(Protocol):
    """Turns a line into sound."""

    def check(self) -> object:
        """Wait until it can; raise SpeechError where it cannot."""

    def clip(self, text: str, words_per_minute: int) -> Clip:
        """Return the line as speech, with hardly any silence around it, or raise SpeechError."""

    def close(self) -> None:
        """Let the maker of the sound go."""


class TwoVoices(Voice):
    """Speaks by the room's loudspeaker, which can be silenced, and by another voice in any case."""

    def __init__(self, room: Voice, other: Voice) -> None:
        self._room = room
        self._other = other
        self.is_room_on = True

    def set_room(self, *, is_on: bool) -> None:
        """Have the room's voice speak from now on, or fall silent at once."""
        self.is_room_on = is_on
        if not is_on:
            self._room.play([])

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        """Sound the items by both."""
        if self.is_room_on:
            self._room.play(items, interrupt=interrupt)
        self._other.play(items, interrupt=interrupt)

    def prepare(self, lines: Sequence[str]) -> None:
        """Have both make ready what will likely be wanted next."""
        if self.is_room_on:
            self._room.prepare(lines)
        self._other.prepare(lines)

    def set_rate(self, words_per_minute: int) -> None:
        """Speak later lines at this speed."""
        self._room.set_rate(words_per_minute)
        self._other.set_rate(words_per_minute)

    @property
    def is_speaking(self) -> bool:
        """Whether either is to be heard."""
        return self._room.is_speaking or self._other.is_speaking

    def wait(self, timeout: float) -> bool:
        """Wait for the room's silence."""
        return self._room.wait(timeout)

    def close(self) -> None:
        """Let both go."""
        self._room.close()
        self._other.close()
