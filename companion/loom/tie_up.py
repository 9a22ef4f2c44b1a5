"""Which shafts are tied to each treadle, and which way, on each kind of loom.

On a jack loom ties raise shafts and on a counterbalance loom they lower them; on a countermarch
loom every shaft that is used is tied to every treadle, up or down, so that 8 shafts and 10
treadles take 80 cords (leighsfiberjournal.blogspot.com, May 2024). Tie-ups made to press two
treadles at once leave gaps on purpose (fibre2fabric.blogspot.com, September 2007 and July 2008).
"""

from collections.abc import Iterable, Sequence
from itertools import chain
from typing import Literal, NamedTuple

from companion.base.value import Value
from companion.plan.draft.draft import Draft
from companion.plan.draft.lifts import Shafts, tied_shafts

LoomKind = Literal["jack", "counterbalance", "countermarch"]
Press = tuple[int, ...]
"""Treadles pressed together, in rising order."""


class Ties(NamedTuple):
    """The ties of one treadle, as shafts in rising order."""

    up: tuple[int, ...] = ()
    """Shafts that pressing it raises."""
    down: tuple[int, ...] = ()
    """Shafts that pressing it lowers."""

    @property
    def number(self) -> int:
        """How many ties there are to make."""
        return len(self.up) + len(self.down)


Way = Literal["marked", "others", "a-shed-each", "none"]
"""The shafts tied are those the draft marks; or the others, since the loom moves shafts the other
way; or each treadle makes a whole shed; or no ties make the draft's sheds on this loom."""


class TieUpPlan(Value):
    """The ties of every treadle, and what is pressed in each pick with them."""

    treadles: tuple[Ties, ...]
    """Treadle 1 first; one that the draft leaves untied, or that is not needed, has none. () where
    no ties make the draft's sheds."""
    picks: tuple[Press, ...]
    way: Way
    raises: bool
    """Whether ties raise shafts on this loom."""
    lowers: bool
    """Whether ties lower shafts on this loom."""
    used: Shafts
    """Every shaft that is threaded or marked."""

    @property
    def has_gaps(self) -> bool:
        """Whether a treadle leaves some shafts hanging, on a loom that ties shafts both ways."""
        every = len(self.used)
        return self.raises and self.lowers and any(0 < t.number < every for t in self.treadles)

    def raised(self, press: Iterable[int]) -> Shafts | None:
        """Return the shafts above the shuttle when treadles are pressed; None where some hang."""
        ties = [self.treadles[treadle - 1] for treadle in press]
        up = frozenset(chain.from_iterable(each.up for each in ties))
        down = frozenset(chain.from_iterable(each.down for each in ties))
        if self.raises and self.lowers:
            return up if up | down == self.used and not up & down else None
        return up if self.raises else self.used - down


def tie_up(draft: Draft, kind: LoomKind | None) -> TieUpPlan:
    """Return the ties that make a loom of this kind weave the draft; without one, as it marks.

    Where the loom moves shafts the other way than the draft marks them, the others that are used
    are tied instead. Where picks press several treadles at once that may make other sheds: a
    treadle then takes only what is right in every pick that presses it, and if that is too little,
    each shed has a treadle of its own, as long as there are enough of them.
    """
    raises = draft.is_rising_shed if kind is None else kind != "counterbalance"
    lowers = kind == "countermarch" or not raises
    used = frozenset(draft.shafts).union(*draft.treadles)

    def planned(ties: Sequence[Ties], picks: Sequence[Press], way: Way) -> TieUpPlan:
        own = (Ties(each.up if raises else (), each.down if lowers else ()) for each in ties)
        return TieUpPlan(tuple(own), tuple(picks), way, raises, lowers, used)

    sheds = _sheds(draft, used)
    is_as_marked = kind == "countermarch" or raises == draft.is_rising_shed
    shared = planned(
        _shared(draft, sheds, used), draft.picks, "marked" if is_as_marked else "others"
    )
    if all(shared.raised(press) == shed for press, shed in sheds.items()):
        return shared
    owner = _a_shed_each(draft, sheds)
    if owner is None:
        return planned((), (), "none")
    made = {
        treadle: Ties(tuple(sorted(shed)), tuple(sorted(used - shed)))
        for shed, treadle in owner.items()
    }
    ties = [made.get(number, Ties()) for number in range(1, len(draft.treadles) + 1)]
    picks = [(owner[sheds[pick]],) if pick in sheds else () for pick in draft.picks]
    return planned(ties, picks, "a-shed-each")


def _sheds(draft: Draft, used: Shafts) -> dict[Press, Shafts]:
    """Return the shafts above the shuttle for all that is pressed, and for treadles that never are.

    What moves nothing makes no shed.
    """
    pressed = frozenset(chain.from_iterable(draft.picks))
    alone = ((number,) for number in range(1, len(draft.treadles) + 1) if number not in pressed)
    presses = tuple(dict.fromkeys((*draft.picks, *alone)))
    moved = zip(presses, tied_shafts(draft.treadles, presses), strict=True)
    return {
        press: shafts if draft.is_rising_shed else used - shafts
        for press, shafts in moved
        if shafts
    }


def _shared(draft: Draft, sheds: dict[Press, Shafts], used: Shafts) -> list[Ties]:
    """Return what the draft marks, and the other way all that is right in every pick."""
    found = []
    for number, marked in enumerate(draft.treadles, start=1):
        own = [shed for press, shed in sheds.items() if number in press]
        if not marked or not own:
            found.append(Ties())
        elif draft.is_rising_shed:
            found.append(Ties(marked, tuple(sorted(used.difference(*own)))))
        else:
            found.append(Ties(tuple(sorted(used.intersection(*own))), marked))
    return found


def _a_shed_each(draft: Draft, sheds: dict[Press, Shafts]) -> dict[Shafts, int] | None:
    """Return the treadle of each shed that is woven; None where there are too few treadles.

    A treadle that was pressed alone keeps its shed.
    """
    woven = {press: sheds[press] for press in draft.picks if press in sheds}
    owner = {shed: press[0] for press, shed in woven.items() if len(press) == 1}
    free = sorted(set(range(1, len(draft.treadles) + 1)).difference(owner.values()))
    homeless = [shed for shed in dict.fromkeys(woven.values()) if shed not in owner]
    if len(homeless) > len(free):
        return None
    return owner | dict(zip(homeless, free, strict=False))
