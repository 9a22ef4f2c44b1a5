"""How the warp is wound: groups at the counting cross, and alike rounds in a row inside them."""

from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby, pairwise
from typing import Final, NamedTuple

from companion.loom.dressing import Dressing, End

LEAST_COUNTED: Final = 8
"""Ends below which a section of the raddle is counted with the one after it; our own choice."""


class AlikeRounds(NamedTuple):
    """Rounds of the same colours, one after the other."""

    first: int
    """The first end."""
    last: int
    """The last end, inclusive."""
    together: int
    """Ends in each of its rounds."""
    colours: tuple[str, ...]
    """Of the ends of one round, each once; () where none is named."""

    @property
    def ends(self) -> int:
        """How many ends it holds."""
        return self.last - self.first + 1


def counting_groups(dressing: Dressing) -> tuple[tuple[AlikeRounds, ...], ...]:
    """Return what is wound in every group that is tied off at the counting cross, in order.

    A group is what goes into one section of the raddle (peggyosterkamp.com, tips on counting), or
    into as few as make 8 ends; without a raddle it is about an inch. Ends
    wound together are never parted between groups.
    """
    return tuple(
        tuple(_in_rows(dressing.ends[before:upto], dressing.wound_together))
        for before, upto in pairwise((0, *_edges(dressing)))
    )


def _edges(dressing: Dressing) -> Iterator[int]:
    edge, total = 0, len(dressing.ends)
    for upto in _marks(dressing, total):
        if upto == total or upto - edge >= LEAST_COUNTED:
            edge = upto
            yield upto
            if upto == total:
                return


def _marks(dressing: Dressing, total: int) -> Iterator[int]:
    """Yield the ends after which a group may be tied off; the last is the last end."""
    if dressing.raddle is not None and dressing.method == "back-to-front":
        yield from accumulate(dressing.raddle.counts)
        return
    together = dressing.wound_together
    size = together * max(1, round(len(dressing.ends) / dressing.ends_width / together))
    yield from range(size, total, size)
    yield total


def _in_rows(ends: Sequence[End], together: int) -> Iterator[AlikeRounds]:
    """Yield the rounds of one group, alike ones together; the first of all is a whole one."""
    rounds = [ends[start : start + together] for start in range(0, len(ends), together)]
    for (size, colours), alike in groupby(rounds, key=_kind):
        members = list(alike)
        yield AlikeRounds(members[0][0].number, members[-1][-1].number, size, colours)


def _kind(members: Sequence[End]) -> tuple[int, tuple[str, ...]]:
    colours = dict.fromkeys(end.colour for end in members if end.colour)
    return len(members), tuple(colours)
