"""The search for the fastest speech a weaver takes every number in from; pure, without a sound.

The speed rises by a fifth while all is right, then halves the way between what was passed and what
was failed. A rule of our own; that people differ widely in this, and where their limits lie, is in
D. Bragg, K. Reinecke and R. Ladner, "Expanding a Large Inclusive Study of Human Listening Rates",
ACM Transactions on Accessible Computing 14 (2021).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.base.value import Value
from companion.devices.speech.voice import kept_rate
from companion.settings.schema import FASTEST, SLOWEST

if TYPE_CHECKING:
    import random

ENOUGH_RIGHT, TOO_MANY_WRONG = 3, 2
"""One wrong may be the finger, not the ear."""
RISE = 1.2
NEAR = 20
"""Words a minute between passed and failed that are not worth another try."""
COMFORT = 0.9
"""For hours on end, slower than the limit."""
ALIKE = (*range(13, 20), *range(30, 100, 10))
"""Numbers most like one another; every other number said is one of them."""


class RateSearch(Value):
    """How far the search has come."""

    rate: int
    """Words a minute of the numbers now said."""
    passed: int = 0
    failed: int = 0
    right: int = 0
    wrong: int = 0

    def heard(self, *, is_right: bool) -> RateSearch:
        """Return the search after one more number, keyed back right or not."""
        right, wrong = self.right + is_right, self.wrong + (not is_right)
        if right == ENOUGH_RIGHT:
            return _at_next_rate(self.rate, self.failed)
        if wrong == TOO_MANY_WRONG:
            return _at_next_rate(self.passed, self.rate)
        return replace(self, right=right, wrong=wrong)

    @property
    def is_over(self) -> bool:
        """Whether the limit is known, or lies beyond what can be spoken."""
        if self.passed and self.failed:
            return self.failed - self.passed <= NEAR
        return self.passed == FASTEST or self.failed == SLOWEST

    @property
    def own_rate(self) -> int:
        """The speed to work at, a little below the limit; 0 where none was passed."""
        return max(SLOWEST, _to_tens(COMFORT * self.passed)) if self.passed else 0


def _at_next_rate(passed: int, failed: int) -> RateSearch:
    rate = (passed + failed) / 2 if passed and failed else passed * RISE or failed / RISE
    return RateSearch(kept_rate(_to_tens(rate)), passed, failed)


def _to_tens(rate: float) -> int:
    return 10 * round(rate / 10)


def numbers(chance: random.Random) -> Iterator[int]:
    """Yield numbers of 1 to 99 to be said, for ever, none twice in a row."""
    last = 0
    while True:
        for among in (ALIKE, range(1, 100)):
            last = chance.choice([number for number in among if number != last])
            yield last
