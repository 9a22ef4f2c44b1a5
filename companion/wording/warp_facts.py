"""What a warp comes to, as named facts: what to wind, what to buy, and how often."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from companion.base.runs import run_lengths, told_in_turns
from companion.base.text import counted, noun_for
from companion.job.job import whole_job
from companion.loom.dressing import Dressing, RaddlePlan, YarnNeed, Yarns
from companion.loom.tie_on import bouts
from companion.loom.winding import counting_groups
from companion.yarn.measured import density, long_unit, measure, weight, yardage


class Fact(NamedTuple):
    """One thing a weaver needs to know of her warp."""

    name: str
    """"Length"."""
    parts: tuple[str, ...]
    """What there is to say of it, in pieces that stand by themselves."""


def warp_facts(dressing: Dressing) -> Iterator[Fact]:
    """Yield what the warp comes to, in the order in which it is needed."""
    yarns = dressing.yarns
    if yarns is not None:
        yield from _length(yarns, dressing.units)
    yield Fact("Ends", tuple(_ends(dressing)))
    order = colours_in_order([end.colour for end in dressing.ends])
    if any(end.colour for end in dressing.ends):
        yield Fact("Winding order", tuple(order))
    if yarns is not None and yarns.needs:
        *others, last = (_yarn(each, dressing.units) for each in yarns.needs)
        yield Fact("Yarn", (*(f"{each};" for each in others), last))
    for warp in dressing.warps or (dressing,):
        yield from _set_up(warp, has_raddle="raddle" in whole_job(dressing))
    yield Fact("Reed", (_reed(dressing),))
    tied = bouts(len(dressing.ends), dressing.ends_width, is_near_first=True)
    yield Fact("Tying on", tuple(_shares([bout.ends for bout in tied], "bout")))


def _set_up(warp: Dressing, *, has_raddle: bool) -> Iterator[Fact]:
    """Yield how one warp is counted, spread and beamed."""
    of = f", beam {warp.beam_number}" if warp.beam_number else ""
    if of:
        yield Fact(f"Ends{of}", (f"{len(warp.ends)} in heddles",))
    if of and warp.yarns is not None:
        yield Fact(f"Length{of}", (measure(warp.yarns.wind, warp.units),))
    if warp.sections is not None:
        yield Fact("Sections", tuple(_shares(warp.sections.counts, "section")))
        yield Fact("Turns", (f"{counted(warp.sections.turns, 'turn')} in each section",))
        return
    held = [sum(run.ends for run in runs) for runs in counting_groups(warp)]
    yield Fact(f"Counting cross{of}", tuple(_shares(held, "group")))
    if warp.raddle is not None and has_raddle:
        yield Fact(f"Raddle{of}", tuple(_raddle(warp.raddle)))
    if warp.beam is not None:
        yield Fact(
            f"Warp beam{f' {warp.beam_number}' if of else ''}",
            (f"{counted(warp.beam.most_turns, 'turn')} at most",),
        )


def _length(yarns: Yarns, units: str) -> Iterator[Fact]:
    long = long_unit(yarns.wind, units)
    yield Fact("Length", (f"{measure(yarns.wind, units)}, which is {long}",))
    pieces = counted(yarns.wanted.pieces, "piece")
    each = measure(yarns.length.cloth_each, units)
    yield Fact("Cloth", (f"{pieces}, {each} long off the loom",))


def _ends(dressing: Dressing) -> Iterator[str]:
    floating = 2 * dressing.sley.floating
    apart = f" and {floating} floating" if floating else ""
    yield f"{len(dressing.ends)} in heddles{apart}"
    totals = dressing.yarns.ends if dressing.yarns else Counter(e.colour for e in dressing.ends)
    if any(totals):
        yield from (f"{number} {name or 'no colour named'}" for name, number in totals.items())


def colours_in_order(colours: Sequence[str]) -> Iterator[str]:
    """Yield runs of colour in order, "36 white", a turn that comes again told once."""
    return told_in_turns(name or "no colour named" for name in colours)


def _yarn(each: YarnNeed, units: str) -> str:
    name = f"{each.colour} {each.size}" if each.colour else str(each.size)
    needed = f"{yardage(each.need.metres, units)}, {weight(each.need.kilograms, units)}"
    packages = ""
    if each.package is not None and each.need.packages is not None:
        packages = f", buy {each.need.packages} of {each.package.text}"
    return f"{each.use} {name}: {needed}{packages}"


def _shares(held: Sequence[int], whole: str) -> Iterator[str]:
    """Yield how many there are with so many ends, runs told together where they are few."""
    runs = run_lengths(held)
    total = counted(len(held), whole)
    if len(runs) == 1:
        yield f"{total} of {counted(held[0], 'end')}"
    elif len(runs) <= 3:  # noqa: PLR2004 - two or three sizes read well as runs
        yield f"{total}: " + ", ".join(f"{times} of {counted(size, 'end')}" for size, times in runs)
    else:
        low, high = min(held), max(held)
        yield f"{total} of {low} to {high} {noun_for(high, 'end')}"


def _raddle(raddle: RaddlePlan) -> Iterator[str]:
    yield from _shares(raddle.counts, "section")
    if raddle.empty_before is not None:
        yield f"({raddle.empty_before} empty before, {raddle.empty_after} after)"


def _reed(dressing: Dressing) -> str:
    units = dressing.units
    close = "in regions" if dressing.sley.regions else density(dressing.sett, units)
    return (
        f"{measure(dressing.sley.width, units)} wide, {close}, "
        f"{counted(len(dressing.sley.counts), 'dent')} used"
    )


def move_lines(dressing: Dressing) -> Iterator[str]:
    """Yield each move of heddles as a printed line."""
    for move in dressing.moves:
        heddles = counted(move.number, "heddle")
        where = f"from shaft {move.from_shaft} to shaft {move.to_shaft}"
        yield f"Before threading, move {heddles} {where}."
