"""The slips that can be made in threading and sleying, and what each changes in the counts.

The kinds are those that weavers tell of and manuals warn of: ends omitted, added, crossed, or
drawn on the wrong shaft, units left out or threaded the wrong way round, dents skipped or doubled.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from typing import NamedTuple

from companion.base.value import Value


class SlipKind(StrEnum):
    """What went wrong."""

    WRONG_SHAFT = "wrong shaft"
    REPEATED_SHAFT = "same shaft twice"
    MISSED_END = "missed end"
    EXTRA_END = "extra end"
    DOUBLED_END = "two ends in one heddle"
    SKIPPED_HEDDLE = "skipped heddle"
    TRANSPOSED = "crossed pair"
    UNIT_SKIPPED = "unit left out"
    UNIT_ADDED = "unit threaded twice"
    UNIT_MIRRORED = "unit mirrored"
    UNITS_SWAPPED = "units out of order"
    PAIRS_SWAPPED = "every pair crossed"
    SKIPPED_DENT = "skipped dent"
    DOUBLED_DENT = "two dents' ends in one"
    WRONG_DENT = "wrong number in a dent"


UNKNOWN = (0,)
"""In a slip's shafts: one end, on a shaft that the report cannot tell."""

COSTS: Mapping[SlipKind, int] = {
    SlipKind.WRONG_SHAFT: 10,
    SlipKind.REPEATED_SHAFT: 10,
    SlipKind.MISSED_END: 10,
    SlipKind.DOUBLED_END: 10,
    SlipKind.TRANSPOSED: 10,
    SlipKind.SKIPPED_HEDDLE: 10,
    SlipKind.EXTRA_END: 11,
    SlipKind.UNIT_SKIPPED: 12,
    SlipKind.UNIT_ADDED: 12,
    SlipKind.UNIT_MIRRORED: 13,
    SlipKind.UNITS_SWAPPED: 13,
    SlipKind.PAIRS_SWAPPED: 13,
    SlipKind.SKIPPED_DENT: 10,
    SlipKind.DOUBLED_DENT: 10,
    SlipKind.WRONG_DENT: 11,
}
"""How unlikely each kind is, in tenths of a slip. Our own choice: every slip counts about one, and
the smaller remarks only order what would else be equal. Two slips are less likely than any one."""


class Span(NamedTuple):
    """Neighbouring ends, both included; `last` before `first` is the gap before `first`."""

    first: int
    last: int


class Slip(Value):
    """One thing that went wrong, at one place; end numbers are the plan's."""

    kind: SlipKind
    first: int
    """The first planned end (or dent) concerned; what is extra stands just before it."""
    last: int
    """The last one concerned; `first - 1` where nothing planned is concerned."""
    planned: tuple[int, ...] = ()
    """The shafts planned there (or ends in each dent)."""
    found: tuple[int, ...] = ()
    """The shafts there now, end by end (or ends in each dent)."""
    is_heddle_there: bool = False
    """For a missed end: whether its heddle hangs empty in its place."""
    shaft: int = 0
    """For a skipped heddle: its shaft."""
    places: tuple[Span, ...] = ()
    """Every place that fits the report equally well, this one included, in order."""

    @property
    def cost(self) -> int:
        """How unlikely the slip is, in tenths of a slip."""
        return COSTS[self.kind]

    @property
    def at_last_place(self) -> "Slip":
        """The slip at the last place that fits."""
        place = self.places[-1] if self.places else Span(self.first, self.last)
        return replace(self, first=place.first, last=place.last, places=(place,))

    @property
    def total_change(self) -> int:
        """Ends counted more (or fewer, below 0) than planned, because of this."""
        return len(self.found) - len(self.planned)

    @property
    def spare_change(self) -> Counter[int]:
        """For each shaft, heddles left over more (or fewer, below 0) than planned."""
        if self.kind is SlipKind.SKIPPED_HEDDLE:
            return Counter({self.shaft: -1})
        is_kept = self.kind is SlipKind.DOUBLED_END or self.is_heddle_there
        if is_kept or sorted(self.planned) == sorted(self.found):
            return Counter()
        change = Counter(self.planned)
        change.subtract(self.found)
        return Counter({shaft: number for shaft, number in change.items() if number})


class Diagnosis(Value):
    """Slips that together explain the whole report."""

    slips: tuple[Slip, ...]
    """In the order of the ends."""

    @property
    def cost(self) -> int:
        """How unlikely they are together, in tenths of a slip."""
        return sum(slip.cost for slip in self.slips)

    @property
    def first(self) -> int:
        """The first planned end (or dent) concerned."""
        return min(slip.first for slip in self.slips)

    @property
    def is_placed(self) -> bool:
        """Whether it is known where each of them is."""
        return all(len(slip.places) <= 1 for slip in self.slips)

    @property
    def at_last_places(self) -> "Diagnosis":
        """Each of them at the last place that fits, which undoes the least."""
        return Diagnosis(tuple(slip.at_last_place for slip in self.slips))


class Advice(StrEnum):
    """What to do besides, where the report alone does not settle it."""

    READ_BACK = "read back"
    """No few slips explain the report: feel the group end by end, or thread it anew."""
    ORDER_UNSEEN = "order unseen"
    """The counts are right, but counts cannot see ends in the wrong order: feel the shafts."""
    CONTRADICTION = "contradiction"
    """The parts of the report cannot all be true: count and feel once more."""


class Findings(Value):
    """What a report comes to."""

    diagnoses: tuple[Diagnosis, ...]
    """The likeliest first; empty where nothing is wrong or nothing can be told."""
    advice: tuple[Advice, ...] = ()


class Observed(Value):
    """What the weaver counted and felt; whatever was not looked at is None."""

    total: int | None = None
    """Ends counted."""
    spare: Mapping[int, int] | None = None
    """For each shaft, spare heddles counted less spare heddles planned; 0 where not named."""
    felt: tuple[int, ...] | None = None
    """The shaft of each end as felt, from the first end on."""
    is_felt_whole: bool = True
    """Whether `felt` goes to the last end; else the weaver left off before."""


def observed(
    ends: int,
    total: int | None,
    spare: Mapping[int, int] | None,
    felt: tuple[int, ...] | None,
) -> Observed:
    """Return a report on so many planned ends; a row that ends early tells nothing of the rest."""
    is_whole = felt is None or len(felt) >= ends or len(felt) == total
    return Observed(total, spare or None, felt, is_felt_whole=is_whole)


def applied(shafts: Sequence[int], slips: Iterable[Slip]) -> tuple[int, ...]:
    """Return the shafts, from end 1 on, as threaded after slips that do not overlap."""
    threaded: list[int] = []
    place = 0
    for slip in sorted(slips, key=lambda slip: (slip.first, slip.last)):
        if slip.kind is SlipKind.SKIPPED_HEDDLE:
            continue
        threaded += shafts[place : slip.first - 1]
        threaded += slip.found
        place = slip.last
    return (*threaded, *shafts[place:])
