"""Who did which steps: for each step the person who confirmed it last."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from companion.out.handover.pace import work

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.out.handover.pace import Moment


class Share(NamedTuple):
    """One person's part in a stage."""

    weaver: str
    """"" where nobody was named."""
    runs: tuple[tuple[int, int], ...]
    """Step numbers, first and last of each run, of the steps that now stand as theirs."""
    seconds: float
    """At work on the stage, mending too."""

    @property
    def steps(self) -> int:
        """How many steps stand as theirs."""
        return sum(last - first + 1 for first, last in self.runs)


def shares(stage: str, moments: Sequence[Moment]) -> tuple[Share, ...]:
    """Return each person's part in a stage, in the order they came to it."""
    seconds: dict[str, float] = {}
    for stretch in work(moments):
        if stretch.after.stage == stage:
            weaver = stretch.after.weaver
            seconds[weaver] = seconds.get(weaver, 0.0) + stretch.seconds
    runs: dict[str, list[tuple[int, int]]] = {weaver: [] for weaver in seconds}
    numbered = enumerate(owners(stage, moments), start=1)
    for weaver, run in groupby(numbered, key=lambda each: each[1]):
        numbers = [number for number, _ in run]
        runs.setdefault(weaver, []).append((numbers[0], numbers[-1]))
    return tuple(
        Share(weaver, tuple(found), seconds.get(weaver, 0.0)) for weaver, found in runs.items()
    )


def owners(stage: str, moments: Sequence[Moment]) -> list[str]:
    """Return who confirmed each step of a stage that is confirmed at the end.

    A step taken away and confirmed again is the second person's. One that only stands again,
    since going back was undone, stays with who had done it.
    """
    found: dict[int, str] = {}
    position = 0
    for moment in moments:
        if moment.stage != stage:
            continue
        if moment.confirmed:
            first, last = moment.confirmed
            found.update(dict.fromkeys(range(first, last + 1), moment.weaver))
        position = moment.position
    return [found.get(number, "") for number in range(1, position + 1)]
