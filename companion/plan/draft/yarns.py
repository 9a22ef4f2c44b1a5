"""Whether a plan's yarns can be read, and whether what they need to be worked out by is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import printable
from companion.plan.fault import Fault, is_unsure
from companion.yarn.counts import read_size
from companion.yarn.fault import YarnError
from companion.yarn.need import read_package

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.plan.fault import Unsure
    from companion.plan.schema import PlanFile, Yarn

_LENGTH_MEND = (
    'Add [length] with finished = 30, take_up = "10 %", shrinkage = "10 %" and loom_waste = 30'
)
_WEFT_MEND = "Add [weft] with picks_per_inch = 12, or take the weft yarn out"


def yarn_faults(plan: PlanFile, unsure: Unsure) -> list[Fault]:
    """Return what is wrong with the yarns by themselves; their colours are judged elsewhere."""
    return [*_unreadable(plan), *_missing(plan, unsure), *_twice(plan)]


def _unreadable(plan: PlanFile) -> Iterator[Fault]:
    for at, yarn in enumerate(plan.yarn):
        try:
            read_size(yarn.size)
        except YarnError as error:
            yield Fault(("yarn", at, "size"), error.fault, error.mend)
        if yarn.package is None:
            continue
        try:
            read_package(yarn.package)
        except YarnError as error:
            yield Fault(("yarn", at, "package"), error.fault, error.mend)


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
    """Yield each warp yarn for ends that a yarn before it makes already."""
    seen: set[str | None] = set()
    for at, yarn in enumerate(plan.yarn):
        if yarn.use == "weft":
            continue
        if yarn.colour in seen:
            fault = f"expected one warp yarn for {_ends(yarn)}, and this is another"
            yield Fault(("yarn", at), fault, "Keep one of them, or give each its own colour")
        seen.add(yarn.colour)


def _ends(yarn: Yarn) -> str:
    return (
        f"the ends of {printable(yarn.colour)}" if yarn.colour else "all ends that no other makes"
    )
