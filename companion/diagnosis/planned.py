"""What was to be threaded in the ends that are checked: shafts, units and groups."""

from bisect import bisect_right

from companion.base.value import Value
from companion.diagnosis.slips import Span
from companion.loom.dressing import Dressing


class Planned(Value):
    """A stretch of the threading as planned; all numbers are the plan's own end numbers."""

    first: int
    """The first end."""
    shafts: tuple[int, ...]
    """The shaft of each end."""
    units: tuple[Span, ...] = ()
    """The units that lie wholly within, in order."""
    groups: tuple[Span, ...] = ()
    """The groups that lie wholly within, in order."""
    all_shafts: tuple[int, ...] = ()
    """Every shaft of the loom that could be taken by mistake."""
    shared: frozenset[int] = frozenset()
    """Ends planned to share the heddle of the end before."""

    @property
    def last(self) -> int:
        """The last end."""
        return self.first + len(self.shafts) - 1

    def of(self, span: Span) -> tuple[int, ...]:
        """Return the shafts of some of the ends."""
        return self.shafts[span.first - self.first : span.last + 1 - self.first]


def planned_ends(dressing: Dressing, first: int = 1, last: int | None = None) -> Planned:
    """Return what was planned from end `first` to end `last`, the whole warp by default."""
    last = len(dressing.ends) if last is None else last
    ends = dressing.ends[first - 1 : last]
    places = [end.place for end in dressing.ends]
    spans = (
        Span(bisect_right(places, unit.first - 1) + 1, bisect_right(places, unit.last))
        for unit in dressing.draft.units
    )
    shared = (
        one.number for one, before in zip(ends[1:], ends, strict=False) if one.place == before.place
    )
    return Planned(
        first=first,
        shafts=tuple(end.shaft for end in ends),
        units=tuple(span for span in spans if first <= span.first and span.last <= last),
        groups=tuple(
            Span(group.first, group.last)
            for group in dressing.groups
            if first <= group.first and group.last <= last
        ),
        all_shafts=tuple(heddles.shaft for heddles in dressing.heddles),
        shared=frozenset(shared),
    )


def planned_group(dressing: Dressing, number: int) -> Planned:
    """Return what was planned in one group, by its number from 1."""
    group = dressing.groups[number - 1]
    return planned_ends(dressing, group.first, group.last)
