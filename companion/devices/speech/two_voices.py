"""Two voices that say the same: the room's loudspeaker and another, such as the tablets'."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.devices.speech.voice import Item, Voice


class TwoVoices:
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
