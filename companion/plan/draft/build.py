"""From a plan file, and the draft it names if any, to what is threaded, tied and treadled."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from companion.base.text import quoted
from companion.plan.draft.draft import Draft
from companion.plan.draft.expand import ThreadingReader, part_colours, units_of
from companion.plan.draft.lifts import Written, read_picks, read_tie_up
from companion.plan.draft.stretch import Stretch, total, written
from companion.plan.draft.totals import (
    extra_fills,
    filler,
    place_faults,
    settled,
    total_faults,
    warp_faults,
)
from companion.plan.draft.yarns import place_colours, yarn_faults
from companion.plan.equipment import ReedPart
from companion.plan.fault import Fault, Path, Unsure, is_unsure
from companion.plan.schema import Part, PlanFile
from companion.plan.threading.notation import NotationError, NotationReader, read_numbers

_SUMMED = (
    "warp.ends", "warp.width", "warp.ends_per_inch", "warp.ends_per_cm", "units",
    "selvedges.doubled", "blocks", "threading", "draft",
)  # fmt: skip
"""What the number of ends is reckoned from."""
_REGIONS: Final[Path] = ("reed", "parts")


def compose(
    plan: PlanFile, draft: Draft | None = None, unsure: Unsure = frozenset()
) -> tuple[Draft | None, list[Fault]]:
    """Return the plan's whole draft, and everything wrong with it.

    The draft is None where what is wrong keeps it from being written out. A draft that is whole
    but does not come to the ends asked for is there, so that what else contradicts it is found.

    Args:
        plan: the plan file.
        draft: what the WIF file that the plan names holds; None where it names none, or where
            that file could not be read (then `unsure` has "draft").
        unsure: what of the plan could not be read; nothing is said of totals it would enter.
    """
    faults = _contradictions(plan, unsure)
    faults += extra_fills(plan.threading, "threading") + extra_fills(plan.colours, "colours")
    threading = ThreadingReader(plan.blocks)
    stretches = threading.read(plan.threading, ("threading",))
    weaving = NotationReader()
    treadles = read_tie_up(plan.tie_up, weaving) if plan.tie_up else ()
    treadling = read_picks(plan.treadling, "treadling", weaving)
    lifting = read_picks(plan.lifts, "lifts", weaving)
    if plan.second_beam is not None:
        for key in ("shafts", "order"):
            weaving.numbers(getattr(plan.second_beam, key) or "1", ("second_beam", key))
    is_summed = not (faults or threading.faults or is_unsure(unsure, *_SUMMED))
    faults += [*threading.faults, *weaving.faults, *yarn_faults(plan, unsure), *_sley_faults(plan)]
    if is_summed:
        whole, more = _threaded(plan, stretches) if draft is None else _from_wif(plan, draft)
        faults += more
        if whole is not None and not weaving.faults:
            return _with_weaving(plan, whole, treadles, treadling, lifting), faults
    return None, faults


def _contradictions(plan: PlanFile, unsure: Unsure) -> list[Fault]:
    """Return faults of saying the same thing twice, or not at all."""
    faults = []
    if plan.draft is not None and (plan.threading or plan.blocks):
        key = "threading" if plan.threading else "blocks"
        fault = f"expected the threading once, and both draft and {key} give it"
        faults.append(Fault((key,), fault, f"Take out draft or {key}"))
    if plan.draft is None and not plan.threading and not is_unsure(unsure, "draft", "threading"):
        fault = "expected a threading, and there is none"
        mend = 'Add [[threading]] with ends = "1 to 4" and times = "fill", or draft = "towels.wif"'
        faults.append(Fault(("threading",), fault, mend))
    if plan.lifts and (plan.treadling or plan.tie_up):
        key = "treadling" if plan.treadling else "tie_up"
        fault = f"expected the picks once, and both lifts and {key} give them"
        faults.append(Fault(("lifts",), fault, f"Take out lifts or {key}"))
    if plan.colours and _has_colour(plan.threading):
        fault = "expected colours once, and both [[colours]] and the threading's parts name them"
        faults.append(Fault(("colours",), fault, "Keep the one and take out the other"))
    return faults


def _has_colour(parts: Sequence[Part]) -> bool:
    return any(part.colour is not None or _has_colour(part.parts or ()) for part in parts)


def _sley_faults(plan: PlanFile) -> list[Fault]:
    """Return the orders in the reed that cannot be read, or put no ends into it."""
    written = [(("reed", "sley"), plan.reed.sley), *_region_orders(plan.reed.parts, _REGIONS)]
    return [fault for path, text in written if text for fault in _order_faults(path, text)]


def _region_orders(parts: Sequence[ReedPart], path: Path) -> Iterator[tuple[Path, str | None]]:
    for at, part in enumerate(parts):
        yield (*path, at, "sley"), part.sley
        yield from _region_orders(part.parts or (), (*path, at, "parts"))


def _order_faults(path: Path, text: str) -> Iterator[Fault]:
    try:
        if not any(read_numbers(text, least=0)):
            fault = f"expected an order that puts ends into the reed, not {quoted(text)}"
            empty = ", or empty = 5 for dents left empty" if path[1] == "parts" else ""
            yield Fault(path, fault, f'Write ends in each dent, such as "1-2-2"{empty}')
    except NotationError as error:
        yield Fault(path, error.fault, 'Write ends in each dent, such as "1-2-2"')


def _threaded(
    plan: PlanFile, stretches: tuple[Stretch[int], ...]
) -> tuple[Draft | None, list[Fault]]:
    if faults := warp_faults(plan):
        return None, faults
    index = filler(plan.threading)
    room = (plan.asked_ends or 0) - 2 * plan.selvedges.doubled
    stretches, faults = settled(stretches, index, room, ("threading",))
    step = None if index is None else stretches[index].length
    faults = faults or place_faults(plan, total(stretches))
    if faults:
        return None, faults
    faults = total_faults(plan, total(stretches), step)
    shafts = written(stretches)
    draft = Draft(shafts, part_colours(stretches), units_of(stretches), title=plan.title)
    return (draft, faults) if faults else _coloured(plan, draft)


def _from_wif(plan: PlanFile, draft: Draft) -> tuple[Draft | None, list[Fault]]:
    if faults := warp_faults(plan) or place_faults(plan, len(draft.shafts)):
        return None, faults
    faults = total_faults(plan, len(draft.shafts), None)
    return (draft, faults) if faults else _coloured(plan, draft)


def _coloured(plan: PlanFile, draft: Draft) -> tuple[Draft | None, list[Fault]]:
    if not plan.colours:
        return draft, []
    colours, faults = place_colours(plan.colours, len(draft.shafts), plan.selvedges)
    return (draft, faults) if faults else (replace(draft, colours=colours), [])


def _with_weaving(
    plan: PlanFile,
    draft: Draft,
    treadles: tuple[tuple[int, ...], ...],
    treadling: Written,
    lifting: Written,
) -> Draft:
    """Return the draft with the plan's own tie-up, treadling and lifts where it gives them."""
    if plan.tie_up is not None:
        is_rising = plan.tie_up.shed == "rising"
        draft = replace(draft, treadles=treadles, is_rising_shed=is_rising)
    (picks, picked), (lifts, lifted) = treadling, lifting
    if plan.treadling:
        draft = replace(draft, picks=picks, pick_units=picked, lifts=(), weft=())
    if lifts:
        draft = replace(draft, lifts=lifts, pick_units=lifted, treadles=(), picks=(), weft=())
    return draft
