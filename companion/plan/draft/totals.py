"""Whether a threading and its colours come to the ends the plan asks for."""

from collections.abc import Sequence
from typing import TypeVar

from companion.base.text import counted
from companion.plan.draft.stretch import Stretch, total
from companion.plan.fault import Fault, Path
from companion.plan.schema import ColourRun, Part, PlanFile
from companion.plan.threading.notation import too_long
from companion.plan.values import MAX_ENDS

T = TypeVar("T")
Stretches = tuple[Stretch[T], ...]


def extra_fills(parts: Sequence[Part | ColourRun], table: str) -> list[Fault]:
    """Return a fault for each "fill" in a table but the first one."""
    fault = f'expected "fill" once in {table}, and this is another'
    filling = [at for at, part in enumerate(parts) if part.times == "fill"]
    return [
        Fault((table, at, "times"), fault, "Write a number of times here") for at in filling[1:]
    ]


def filler(parts: Sequence[Part | ColourRun]) -> int | None:
    """Return the index of the first part at the top that is to fill."""
    return next((at for at, part in enumerate(parts) if part.times == "fill"), None)


def settled(
    stretches: Stretches[T], index: int | None, asked: int, path: Path
) -> tuple[Stretches[T], list[Fault]]:
    """Return the stretches with the one at `index` repeated as often as fits in `asked`."""
    if index is None:
        return stretches, []
    one = stretches[index]
    room = asked - (total(stretches) - one.length)
    if room < one.length:
        least = counted(one.length, "end")
        fault = f"expected room for one pass of {least} at least, and {_left(room)}"
        mend = "Make the warp wider or the other parts shorter"
        return stretches, [Fault((*path, index, "times"), fault, mend)]
    filled = one._replace(times=room // one.length)
    return (*stretches[:index], filled, *stretches[index + 1 :]), []


def warp_faults(plan: PlanFile) -> list[Fault]:
    """Return what is wrong with the ends asked for, before any threading is looked at."""
    asked = plan.asked_ends
    if asked is not None and asked > MAX_ENDS:
        return [too_long(("warp", "width"), "the ends that width and sett ask for")]
    if asked is None and (at := filler(plan.threading)) is not None:
        path = ("threading", at, "times")
        fault = 'expected ends or width under [warp] for "fill" to go by, and neither is given'
        return [Fault(path, fault, "Add ends = 300 to [warp], or write a number of times here")]
    return []


def place_faults(plan: PlanFile, places: int) -> list[Fault]:
    """Return what keeps so many places from being a warp, whatever number was asked for."""
    doubled = plan.selvedges.doubled
    if plan.selvedges.ends_in(places) > MAX_ENDS:
        return [too_long(("threading",), "the ends of the threading")]
    if places < 2 * doubled:
        fault = f"expected at least {2 * doubled} heddles to double {doubled} a side"
        path: Path = ("selvedges", "doubled")
        return [Fault(path, f"{fault}, and the threading has {places}", "Double fewer heddles")]
    return []


def total_faults(plan: PlanFile, places: int, step: int | None) -> list[Fault]:
    """Return what is wrong with the number of ends, beside the number asked for.

    `step` is the places one pass of the filling part adds; None where no part fills.
    """
    asked, ends = plan.asked_ends, plan.selvedges.ends_in(places)
    if asked is None or asked == ends or (plan.warp.width is not None and step is not None):
        return []
    return [_mismatch(plan, asked, ends, step)]


def colour_faults(ends: int, came: int, step: int | None) -> list[Fault]:
    """Return what is wrong with the number of ends that the colours come to."""
    if came == ends:
        return []
    fault = f"expected colours for {counted(ends, 'end')} in the heddles, and they come to {came}"
    if step is None:
        mend = (
            f"{'Add' if came < ends else 'Take out'} {counted(abs(ends - came), 'end')} of colour"
        )
    else:
        fault = f"{fault}, or {came + step} with one pass more"
        mend = f"Add {counted(ends - came, 'end')} of colour outside the part that fills"
    return [Fault(("colours",), fault, mend)]


def _mismatch(plan: PlanFile, asked: int, ends: int, step: int | None) -> Fault:
    key = "ends" if plan.warp.width is None else "width"
    source = "draft" if plan.draft else "threading"
    fault = f"expected the {counted(asked, 'end')} that warp.{key} asks for"
    fault = f"{fault}, and the {source} comes to {ends}"
    if plan.selvedges.doubled:
        fault = f"{fault} with its {2 * plan.selvedges.doubled} doubled ends"
    if step is not None:
        fault = f"{fault}, or {ends + step} with one pass more"
    change = f"{'lengthen' if ends < asked else 'shorten'} the {source} by {abs(asked - ends)}"
    instead = "" if key == "ends" else " in place of width"
    fits = f"ends = {ends}" if step is None else f"ends = {ends} or ends = {ends + step}"
    return Fault(("warp", key), fault, f"Write {fits}{instead}, or {change}")


def _left(room: int) -> str:
    if room < 0:
        return f"the other parts are {counted(-room, 'end')} too long already"
    return f"the other parts leave {room}"
