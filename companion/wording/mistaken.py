"""The numbers that a voice makes sound like others.

As measured: "dent 1" to "dent 99", each told from the others by two machine listeners in quiet
and in white noise 20 dB below the speech (`tests/bench/bench_numbers.py` prints these sets). A
number is in a set where the network of phonemes took it for another in quiet, or both listeners
did. No person has been tried.
"""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Final

CAUTIOUS: Final = "13-19 30 40 50 60 70 80 90"
"""For a voice that was not measured: what people mistake, such as 13 and 30 (common practice)."""
MEASURED: Final[Mapping[str, Mapping[int, str]]] = {
    "natural": {160: "18 86 88", 220: "", 300: "13 15 17 19 31 38 43 46 81"},
    "en": {
        160: "9 13-19 91-99",
        220: "9 13-19 30 32 33 38 39 56 59 90 92-99",
        300: "9 13-20 29 30 32-39 43 49 53 59 65 79 80 88-99",
    },
    "en-us": {
        160: "13-19 65 80 81 92-99",
        220: "9 13-19 50 65 88 90 92-99",
        300: "9 12-19 23 29 32 33 36-39 49 56 57 59 61 62 65 69 79 80 82 88-99",
    },
}
"""By voice (that of hibari-tts, and two of espeak-ng by their languages) and words a minute."""


@cache
def mistaken(voice: str, words_per_minute: int) -> frozenset[int]:
    """Return the last two digits of numbers that a voice at a speed makes sound like others.

    Args:
        voice: as in `MEASURED`; for any other the cautious ones.
        words_per_minute: of a speed between two that were measured the faster one holds.
    """
    rates = MEASURED.get(voice)
    if rates is None:
        return frozenset(_numbers(CAUTIOUS))
    rate = min((each for each in rates if each >= words_per_minute), default=max(rates))
    return frozenset(_numbers(rates[rate]))


def _numbers(text: str) -> Iterator[int]:
    for part in text.split():
        first, _, last = part.partition("-")
        yield from range(int(first), int(last or first) + 1)
