"""Whether a plan's yarns can be read and worked out, and its colours from runs of ends to places.

`[[colours]]` counts ends, as the warp is wound. A heddle that holds two ends has one colour, so
both of its ends must have the same.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from companion.base.text import printable
from companion.plan.draft.stretch import Stretch, stretch_around, stretch_of, total, written
from companion.plan.draft.totals import colour_faults, filler, settled
from companion.plan.fault import Fault, Unsure, is_unsure
from companion.plan.schema import ColourRun, PlanFile, Selvedges
from companion.yarn.counts import YarnError, read_size
from companion.yarn.need import read_package

_LENGTH_MEND = (
    'Add [length] with finished = 30, take_up = "10 %", shrinkage = "10 %" and loom_waste = 30'
)
_READERS: Final[dict[str, Callable[[str], object]]] = {"size": read_size, "package": read_package}
_WEFT_MEND = "Add [weft] with picks_per_inch = 12, or take the weft yarn out"


def yarn_faults(plan: PlanFile, unsure: Unsure) -> list[Fault]:
    """Return what is wrong with the yarns by themselves; their colours are judged elsewhere."""
    return [*_unreadable(plan), *_missing(plan, unsure), *_twice(plan)]


def _unreadable(plan: PlanFile) -> Iterator[Fault]:
    for at, yarn in enumerate(plan.yarn):
        for key, text in (("size", yarn.size), ("package", yarn.package)):
            try:
                if text is not None:
                    _READERS[key](text)
            except YarnError as error:
                yield Fault(("yarn", at, key), error.fault, error.mend)


def _missing(plan: PlanFile, unsure: Unsure) -> Iterator[Fault]:
    if plan.length is None and not is_unsure(unsure, "length"):
        if plan.weft is not None and not is_unsure(unsure, "weft"):
            yield Fault(("weft",), "expected [length] for the weft to go by", _LENGTH_MEND)
        elif plan.yarn and not is_unsure(unsure, "yarn"):
            yield Fault(("yarn",), "expected [length] for the yarn to go by", _LENGTH_MEND)
    if plan.weft is None and not is_unsure(unsure, "weft", "yarn"):
        wefts = (at for at, yarn in enumerate(plan.yarn) if yarn.use == "weft")
        for at in wefts:
            fault = "expected [weft] for this weft yarn to go by, and there is none"
            yield Fault(("yarn", at), fault, _WEFT_MEND)
            return


def _twice(plan: PlanFile) -> Iterator[Fault]:
    seen: set[str | None] = set()
    for at, yarn in enumerate(plan.yarn):
        if yarn.use == "weft":
            continue
        if yarn.colour in seen:
            colour = yarn.colour and printable(yarn.colour)
            ends = f"the ends of {colour}" if colour else "all ends that no other makes"
            fault = f"expected one warp yarn for {ends}, and this is another"
            yield Fault(("yarn", at), fault, "Keep one of them, or give each its own colour")
        seen.add(yarn.colour)


def place_colours(
    runs: Sequence[ColourRun], places: int, selvedges: Selvedges
) -> tuple[tuple[str, ...], list[Fault]]:
    """Return the colour of each place, at least as many as are doubled, and all that is wrong."""
    ends, index = selvedges.ends_in(places), filler(runs)
    stretches, faults = settled(tuple(_stretch(run) for run in runs), index, ends, ("colours",))
    if faults:
        return (), faults
    step = None if index is None else stretches[index].length
    if faults := colour_faults(ends, total(stretches), step):
        return (), faults
    return _by_place(written(stretches), selvedges.doubled)


def _stretch(run: ColourRun) -> Stretch[str]:
    times = 1 if run.times == "fill" else run.times
    if run.parts:
        return stretch_around(map(_stretch, run.parts), times)
    return stretch_around([stretch_of([run.colour or ""], run.ends or 0)], times)


def _by_place(colours: tuple[str, ...], doubled: int) -> tuple[tuple[str, ...], list[Fault]]:
    edge = 2 * doubled
    first, last = colours[:edge], colours[len(colours) - edge :]
    near = zip(first[::2], first[1::2], strict=True)
    far = zip(last[-2::-2], last[::-2], strict=True)
    for pairs, where in ((near, ""), (far, " from the far edge")):
        for which, (one, other) in enumerate(pairs, start=1):
            if one != other:
                return (), [_two_coloured(f"heddle {which}{where}", one, other)]
    return first[::2] + colours[edge : len(colours) - edge] + last[::2], []


def _two_coloured(heddle: str, one: str, other: str) -> Fault:
    return Fault(
        ("colours",),
        f"expected one colour in each doubled heddle, and {heddle} holds {one} and {other}",
        "Change the runs at the edge so that doubled ends are alike",
    )
