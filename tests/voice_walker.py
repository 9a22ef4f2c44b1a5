"""A program under test: the search for one's own speed at a terminal, with a voice that notes.

python tests/voice_walker.py FILE SEED    notes in FILE, a line each, the speed and the words said
"""

from __future__ import annotations

import random
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from companion.devices.speech import Voice
from companion.session.voice_trial import Switch, Trial

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.devices.speech import Item


class NotingVoice(Voice):
    """Says nothing, and writes down what it would say and how fast."""

    def __init__(self, notes: Path) -> None:
        self._notes = notes
        self._rate = 0

    def set_rate(self, words_per_minute: int) -> None:
        self._rate = words_per_minute

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:  # noqa: ARG002
        with self._notes.open("a") as file:
            file.write(f"{self._rate} {items[-1]}\n")


def main() -> None:
    """Find a speed with what is typed, and print it."""

    def typed() -> str:
        return sys.stdin.readline().strip().casefold() or ""

    trial = Trial(NotingVoice(Path(sys.argv[1])), Switch({}, "system"), print)
    rate = trial.find_rate(160, typed, random.Random(int(sys.argv[2])))
    print(f"FOUND {rate}")


if __name__ == "__main__":
    main()
