"""The same as the picture, in words."""

from collections.abc import Iterator, Sequence

from companion.base.runs import told_in_turns
from companion.base.text import counted, noun_for, sentence, uncapital
from companion.loom.drawdown import longest_floats
from companion.out.picture.swatches import MARK_WORDS, UNNAMED
from companion.out.picture.view import Cloth, PictureView
from companion.plan.draft.draft import Draft
from companion.plan.threading.notation import write_numbers

MOST_CHANGES = 8
"""Changed ends that are told one by one; beyond, how many there are is enough."""


def words(view: PictureView) -> tuple[str, ...]:
    """Return what a view's picture shows, as sentences, one to a line."""
    return tuple(_lines(view))


def _lines(view: PictureView) -> Iterator[str]:
    draft = view.cloths[0].draft
    yield sentence(f"{view.title}: {_size(draft)}")
    yield from _order(view)
    yield from _window(view)
    yield sentence(f"Threading, end {view.ends[0]} first: {_threading(view, view.cloths[0])}")
    yield from _motion(draft, view.picks)
    yield from _cloth(view, view.cloths[0])
    yield from _colours(view)
    yield from _floats(view.cloths[0])
    for end in view.marked:
        yield sentence(f"The place in the walk is marked: end {end}, {_end(view.cloths[0], end)}")
    for cloth in view.cloths[1:]:
        yield from _beside(view, cloth)


def _size(draft: Draft) -> str:
    shafts = counted(len(set(draft.shafts)), "shaft")
    parts = [f"{counted(len(draft.shafts), 'end')} on {shafts}"]
    if draft.lifts:
        parts.append(f"{counted(len(draft.lifts), 'pick')} of a lift plan")
    elif draft.treadles:
        treadles = counted(len(draft.treadles), "treadle")
        parts.append(f"{counted(len(draft.picks), 'pick')} on {treadles}")
    return ", ".join(parts)


def _order(view: PictureView) -> Iterator[str]:
    side = "right" if view.is_first_end_right else "left"
    yield f"End 1 is at the {side}. The threading is above, with shaft 1 in its lowest row."
    draft = view.cloths[0].draft
    if draft.lifts:
        yield "The lift plan is down the right side, pick 1 at the top."
    elif draft.treadles:
        beside = "the treadling below it, pick 1 at the top" if view.picks else "no treadling"
        yield f"The tie-up is at the right of the threading, {beside}."
    if view.picks:
        yield "The drawdown is below the threading: a filled square is warp above weft."
    if view.shown_colours:
        yield (
            "Beside it is the cloth in its colours, those of the warp in a row above it and those "
            "of the weft in a column at its right."
        )


def _window(view: PictureView) -> Iterator[str]:
    ends = max(len(cloth.draft.shafts) for cloth in view.cloths)
    draft = view.cloths[0].draft
    picks = len(draft.moves)
    if len(view.ends) < ends:
        yield f"Shown are ends {view.ends[0]} to {view.ends[-1]} of {ends}."
    if len(view.picks) < picks:
        yield f"Shown are picks {view.picks[0]} to {view.picks[-1]} of {picks}."


def _threading(view: PictureView, cloth: Cloth) -> str:
    shafts = cloth.draft.shafts[view.ends[0] - 1 : view.ends[-1]]
    return f"shafts {_over(shafts)}"


def _over(numbers: Sequence[int]) -> str:
    """Return numbers in order, those that come over and over told once."""
    for size in range(2, len(numbers) // 2 + 1):
        if numbers[size:] == numbers[:-size]:
            return f"{write_numbers(numbers[:size])}, over and over"
    return write_numbers(numbers)


def _motion(draft: Draft, picks: range) -> Iterator[str]:
    if draft.treadles and not draft.lifts:
        yield f"Tied shafts {'rise' if draft.is_rising_shed else 'sink'}."
        for treadle, shafts in enumerate(draft.treadles, start=1):
            yield f"Treadle {treadle}: {_listed('shaft', shafts)}."
    rows = draft.moves
    if picks:
        shown = rows[picks[0] - 1 : picks[-1]]
        listed = ", ".join("+".join(map(str, pick)) or "none" for pick in shown)
        if all(len(pick) == 1 for pick in shown):
            listed = _over([pick[0] for pick in shown])
        what = "Lift plan, the shafts lifted" if draft.lifts else "Treadling"
        yield f"{what}, pick {picks[0]} first: {listed}."


def _cloth(view: PictureView, cloth: Cloth) -> Iterator[str]:
    """Yield which ends are above in each pick, picks that are alike together."""
    if cloth.drawdown is None:
        return
    alike: dict[tuple[int, ...], list[int]] = {}
    for pick in view.picks:
        up = tuple(end for end in cloth.drawdown.ends_up(pick) if end in view.ends)
        alike.setdefault(up, []).append(pick)
    for ends, picks in alike.items():
        above = _listed("end", ends)
        yield sentence(f"{_listed('pick', picks)}: {above} above the weft")


def _colours(view: PictureView) -> Iterator[str]:
    """Yield the colours of the ends and picks shown, and how each can be told without colour."""
    if not view.shown_colours:
        return
    draft = view.cloths[0].draft
    warp = _in_order([draft.colours[end - 1] for end in view.ends])
    weft = _in_order([draft.weft[pick - 1] for pick in view.picks])
    yield sentence(f"Colours of the warp, end {view.ends[0]} first: {warp}")
    yield sentence(f"Colours of the weft, pick {view.picks[0]} first: {weft}")
    told = ", ".join(
        f"{each.title} has the letter {each.letter} and {MARK_WORDS[each.mark]}"
        for each in view.shown_colours
    )
    yield sentence(f"To tell colours apart in grey: {told}")


def _in_order(colours: Sequence[str]) -> str:
    if len(set(colours)) == 1:
        return f"all {colours[0]}" if colours[0] else "none named"
    return " ".join(told_in_turns(name or UNNAMED for name in colours))


def _floats(cloth: Cloth) -> Iterator[str]:
    if cloth.drawdown is None:
        return
    floats = longest_floats(cloth.draft)
    yield (
        f"Longest floats, threads passed over: warp {floats.warp_on_face} on the face and "
        f"{floats.warp_on_back} on the back, weft {floats.weft_on_face} on the face and "
        f"{floats.weft_on_back} on the back."
    )


def _end(cloth: Cloth, end: int) -> str:
    return f"on shaft {cloth.draft.shafts[end - 1]}"


def _beside(view: PictureView, cloth: Cloth) -> Iterator[str]:
    yield sentence(f"Beside it the same cloth: {uncapital(cloth.caption)}")
    planned = view.cloths[0]
    if not view.changed and planned.draft.shafts == cloth.draft.shafts:
        yield "Nothing differs: that is how the plan has it."
        return
    if len(cloth.draft.shafts) != len(planned.draft.shafts):
        yield sentence(f"It has {counted(len(cloth.draft.shafts), 'end')}")
    for end in view.changed[:MOST_CHANGES]:
        was, now = _end(planned, end), _end(cloth, end)
        yield sentence(
            f"Framed in both: end {end}, {now} instead of {was}{_where(view, cloth, end)}"
        )
    if len(view.changed) > MOST_CHANGES:
        yield f"{len(view.changed)} ends in all are threaded otherwise."
    yield sentence(f"Its threading, end {view.ends[0]} first: {_threading(view, cloth)}")
    yield from (f"In it, {uncapital(line)}" for line in _cloth(view, cloth))
    yield from (f"In it: {uncapital(line)}" for line in _floats(cloth))


def _where(view: PictureView, cloth: Cloth, end: int) -> str:
    right, wrong = view.cloths[0].drawdown, cloth.drawdown
    if right is None or wrong is None:
        return ""
    picks = [p for p in view.picks if right.is_warp_up(p, end) != wrong.is_warp_up(p, end)]
    return f"; it weaves otherwise in {_listed('pick', picks)}"


def _listed(noun: str, numbers: Sequence[int]) -> str:
    if not numbers:
        return f"no {noun}"
    return f"{noun_for(len(numbers), noun)} {write_numbers(numbers)}"
