"""The wording of the trial in which the weaver chooses a voice and its speed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from companion.devices.speech.synthesis import EngineName

NAMES: Final[dict[EngineName, str]] = {
    "natural": "the natural voice",
    "system": "the system's voice",
}
HOW_TO_KEY: Final = (
    "Numbers are said, faster and faster. Type each one and press Enter. "
    "Enter alone if you did not catch it; q ends it."
)

to_key = "dent {}".format
it_was = "It was {}.".format


def sample(number: int, engine: EngineName) -> str:
    """Return the callouts by which a voice, the one of this number, is judged."""
    numbers = "End 37: shaft 1, dent 37. End 38: shaft 2, dent 38. Dent 15. Dent 50."
    return f"Voice {number}, {NAMES[engine]}. {numbers}"
