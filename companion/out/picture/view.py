"""What a picture shows: a window of the cloth, end by end, with places marked and slips tried."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from companion.base.errors import CompanionError
from companion.base.value import Value
from companion.loom.drawdown import Drawdown, drawdown
from companion.loom.dressing import Dressing
from companion.loom.weaving import weft_colours
from companion.out.picture.swatches import Swatch, swatches
from companion.plan.draft.draft import Draft

MOST_ENDS = 48
"""Ends in one picture; more come out too small to see."""
MOST_ENDS_BESIDE = 24
"""Ends in each of two cloths side by side."""
MOST_PICKS = 48
_SLIP = re.compile(r"\s*(?:end\s+)?(\d{1,7})\s+on\s+(?:shaft\s+)?(\d{1,3})\s*", re.IGNORECASE)


class Cloth(Value):
    """One cloth as threaded."""

    caption: str
    """"As planned", or what is otherwise."""
    draft: Draft
    """With one place for each end, doubled ends too."""
    drawdown: Drawdown | None
    """None where the draft says nothing of picks."""

    @property
    def has_colours(self) -> bool:
        """Whether there is a cloth to be seen in its colours."""
        return self.drawdown is not None and any((*self.draft.colours, *self.draft.weft))


class PictureView(Value):
    """What to draw."""

    title: str
    cloths: tuple[Cloth, ...]
    """The planned one; the one with slips beside it, where there are any."""
    ends: range
    """The ends shown, from 1."""
    picks: range
    """The picks shown, from 1; empty where the draft says nothing of picks."""
    is_first_end_right: bool
    marked: tuple[int, ...]
    """Ends marked as the place in the walk; shown if among `ends`."""
    changed: tuple[int, ...]
    """Ends threaded otherwise in the second cloth."""
    swatches: Mapping[str, Swatch]
    """How each colour of the plan is drawn, by its name; as empty as the plan's colours."""

    @property
    def shown_colours(self) -> tuple[Swatch, ...]:
        """Return the colours in the part that is shown, in the plan's order."""
        first = next((cloth.draft for cloth in self.cloths if cloth.has_colours), None)
        if first is None:
            return ()
        ends = {first.colours[end - 1] for end in self.ends}
        picks = {first.weft[pick - 1] for pick in self.picks}
        return tuple(each for name, each in self.swatches.items() if name in ends | picks)


def view(
    dressing: Dressing,
    *,
    at: int | None = None,
    instead: Mapping[int, int] | None = None,
    from_pick: int = 1,
) -> PictureView:
    """Return a view of a plan; CompanionError for an end, shaft or pick it does not have.

    Args:
        dressing: the plan as computed.
        at: an end to mark as the place in the walk.
        instead: ends threaded on another shaft than planned, each with that shaft.
        from_pick: the first pick shown, where not all are.
    """
    slips = instead or {}
    marked = () if at is None else (at,)
    _check(dressing, [*slips, *marked], slips.values())
    caption = ", ".join(f"end {end} on shaft {shaft}" for end, shaft in sorted(slips.items()))
    found = [slips.get(end.number, end.shaft) for end in dressing.ends] if slips else None
    return _framed(dressing, found, f"With {caption}", marked, from_pick)


def compare(dressing: Dressing, found: Sequence[int], caption: str) -> PictureView:
    """Return the planned cloth beside one whose ends are threaded on the shafts found.

    Args:
        dressing: the plan as computed.
        found: the shaft of each end as threaded, end 1 first; there may be more or fewer.
        caption: what is otherwise, as a sentence without a full stop.
    """
    return _framed(dressing, found, caption, (), 1)


def read_slip(text: str) -> tuple[int, int]:
    """Return the end and the shaft of "end 12 on shaft 3"; CompanionError for other words."""
    match = _SLIP.fullmatch(text)
    if match is None:
        raise CompanionError(
            f'Expected an end and the shaft it is on, not "{text}". '
            'Write it as "end 12 on shaft 3".'
        )
    return int(match[1]), int(match[2])


def _check(dressing: Dressing, ends: Iterable[int], shafts: Iterable[int]) -> None:
    for thing, numbers, last, whole in (
        ("an end", ends, len(dressing.ends), "plan"),
        ("a shaft", shafts, len(dressing.heddles), "loom"),
    ):
        for number in numbers:
            if not 1 <= number <= last:
                raise CompanionError(
                    f"Expected {thing} from 1 to {last}, not {number}. "
                    f"Give {thing} of this {whole}."
                )


def _cloth(caption: str, dressing: Dressing, shafts: Sequence[int]) -> Cloth:
    warp = tuple(end.colour for end in dressing.ends)
    by_end = replace(
        dressing.draft,
        shafts=tuple(shafts),
        colours=(*warp, *[""] * (len(shafts) - len(warp)))[: len(shafts)],
        weft=weft_colours(dressing),
        units=(),
    )
    return Cloth(caption, by_end, drawdown(by_end) if by_end.moves else None)


def _framed(
    dressing: Dressing,
    found: Sequence[int] | None,
    caption: str,
    marked: tuple[int, ...],
    from_pick: int,
) -> PictureView:
    planned = [end.shaft for end in dressing.ends]
    cloths, most = [_cloth("As planned", dressing, planned)], MOST_ENDS
    if found is not None:
        cloths, most = [*cloths, _cloth(caption, dressing, found)], MOST_ENDS_BESIDE
    pairs = zip(planned, found or planned, strict=False)
    changed = tuple(end for end, (one, other) in enumerate(pairs, start=1) if one != other)
    picks = len(dressing.draft.moves)
    if from_pick > max(1, picks):
        raise CompanionError(
            f"Expected a pick from 1 to {picks}, not {from_pick}. Give a pick of this plan."
        )
    centre = (*changed, *marked, 1)[0]
    return PictureView(
        title=dressing.title,
        cloths=tuple(cloths),
        ends=window(max(len(cloth.draft.shafts) for cloth in cloths), most, centre),
        picks=range(from_pick, min(picks, from_pick + MOST_PICKS - 1) + 1),
        is_first_end_right=dressing.first_end == "right",
        marked=marked,
        changed=changed,
        swatches=swatches((*cloths[0].draft.colours, *cloths[0].draft.weft)),
    )


def window(number: int, most: int, centre: int) -> range:
    """Return at most so many of the things 1 to `number`, with one of them near the middle."""
    first = max(1, min(centre - most // 2, number - most + 1))
    return range(first, min(number, first + most - 1) + 1)
