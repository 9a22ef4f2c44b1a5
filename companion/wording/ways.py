"""What is said of ways of dressing beside the usual: two beams, sections, regions, other orders."""

from collections.abc import Iterator, Sequence

from companion.base.text import capital, counted, in_breaths, sentence, span
from companion.job import Step
from companion.job.contents import Section
from companion.loom.dressing import Dressing, Region
from companion.wording.warp_facts import colours_in_order


def own_warp(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield where one of two warps goes, whose stage is called by its number, and its ends."""
    if dressing.whole is not None and is_whole:
        ends = counted(len(dressing.ends), "end")
        yield f"It goes on beam {dressing.beam_number}: {ends}, counted on their own."


def own_beam(dressing: Dressing) -> Iterator[str]:
    """Yield on which beam a warp goes, and how tight it will be held where not as the first."""
    if dressing.whole is not None:
        yield f"This is beam {dressing.beam_number}."
    if dressing.beam_number > 1 and dressing.second_tension != "alike":
        yield f"It is to be held {dressing.second_tension} than the warp of beam 1."


def two_crosses(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what to know before ends are taken from two crosses."""
    if dressing.warps:
        change = ", and the beam is told where it changes" if is_whole else ""
        yield f"Each beam has its own cross{change}."


def two_tensions(dressing: Dressing) -> Iterator[str]:
    """Yield what to know before two warps are tied on together."""
    if dressing.warps:
        held = f"hold both evenly{second_held(dressing)}"
        yield f"Each bout takes ends of both beams; {held}."


def second_held(dressing: Dressing) -> str:
    """Return how the second warp is held, to follow the first; "" where as that is."""
    how = dressing.second_tension
    return "" if how == "alike" else f", beam 2 {how}"


def sections_opening(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what to set up, where to begin, and how each section ends."""
    plan = dressing.sections
    if plan is None:
        return
    sections, turns = counted(len(plan.counts), "section"), counted(plan.turns, "turn")
    spools = f"set up {max(plan.counts)} spools at most"
    yield f"{sections}, each of {turns}; {spools}." if is_whole else sentence(spools)
    leave = ""
    if plan.empty_before:
        leave = f"; leave {counted(plan.empty_before, 'section')} empty there"
    yield f"Begin at the {dressing.first_end} edge, seen from the front, end 1 outermost{leave}."
    yield "Wind all sections at one tension."


def warp_left(dressing: Dressing) -> str:
    """Return what stays off the beam to work with."""
    length = "30 centimetres" if dressing.units == "metric" else "12 inches"
    is_front = dressing.method == "front-to-back"
    return f"about {length} in front of the {'reed' if is_front else 'castle'}"


def section_told(section: Section, dressing: Dressing) -> str:
    """Return what to do with a section: its ends in their order, or its turns."""
    if section.turns:
        turns = counted(section.turns, "turn")
        return f"wind {turns}, flat and even; tie the ends in their order, then cut them"
    ends = dressing.ends[section.first - 1 : section.last]
    held = counted(len(ends), "end")
    if not any(end.colour for end in ends):
        return held
    colours = [end.colour for end in ends]
    if len({*colours}) == 1:
        return f"{held}, {colours[0]}"
    return f"{held}: {' '.join(colours_in_order(colours))}"


def in_dents(pattern: Sequence[int]) -> str:
    """Return an order in the reed in words, "4 ends in each dent"."""
    if len(set(pattern)) == 1:
        return f"{counted(pattern[0], 'end')} in each dent"
    return f"{', '.join(map(str, pattern))} ends in the dents, over and over"


def region_line(region: Region, more: str = "") -> str:
    """Return a region as a printed line, "Ends 25 to 36: 4 ends in each dent, dents 13 to 15."."""
    ends = capital(span("end", region.first_end, region.last_end))
    dents = span("dent", region.first_dent, region.last_dent)
    return f"{ends}: {in_dents(region.pattern)}, {dents}{more}."


def next_region(region: Region) -> str:
    """Return what is said at the end of a region of the one that comes next."""
    return f"Then {_what(region)}."


def first_region(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what is said of regions before the first dent."""
    if dressing.sley.regions and is_whole:
        yield "The ends lie closer in some dents than in others, and each change is told."
    if dressing.sley.regions:
        yield f"First {_what(dressing.sley.regions[0])}."


def _what(region: Region) -> str:
    ends = counted(region.last_end - region.first_end + 1, "end")
    return f"{in_dents(region.pattern)}, for {ends}"


def before_steps(steps: Sequence[Step], dressing: Dressing) -> Iterator[str]:
    """Yield what to do before steps: go back, or leave heddles free for ends threaded later."""
    step = steps[0]
    left = {each.shafts[0]: each.heddles_left for each in steps if each.heddles_left}
    behind = f", on your {dressing.last_edge}" if dressing.method == "front-to-back" else ""
    edge = f"{dressing.first_end} edge, seen from the front{behind}"
    if step.is_back and dressing.thread_first:
        yield f"Back to the {edge}. Each end now takes the next free heddle on its shaft."
    elif step.is_back:
        yield f"Back to the centre, and out to the {edge}."
    if len(steps) == 1 and left:
        yield f"Leave {counted(step.heddles_left, 'heddle')} free."
    elif left:
        used = [row.shaft for row in dressing.heddles if row.needed]
        yield f"Leave {_heddles(left, used)}."


def _heddles(left: dict[int, int], used: Sequence[int]) -> str:
    """Return the heddles to leave, those shafts told together that leave as many."""
    if len(left) > 1 and len({*left.values()}) == 1 and set(left) == set(used):
        return f"{counted(next(iter(left.values())), 'heddle')} free on each shaft"
    shafts_of: dict[int, list[int]] = {}
    for shaft in sorted(left):
        shafts_of.setdefault(left[shaft], []).append(shaft)
    return "; ".join(
        f"{number if at else counted(number, 'heddle') + ' free'} on "
        f"{'each of ' if len(shafts) > 1 else ''}{in_breaths('shaft', shafts)}"
        for at, (number, shafts) in enumerate(shafts_of.items())
    )


def is_from_centre(dressing: Dressing) -> bool:
    """Return whether its threading begins in the middle."""
    return bool(dressing.back_at) and dressing.thread_from == "centre"


def order_told(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    """Yield what an order of threading of its own means for the numbers, before it begins."""
    if dressing.thread_first:
        more = ", then the others; leave free the heddles that are told" if is_whole else ""
        yield f"All {dressing.thread_first} ends first{more}."
    if is_whole and dressing.back_at:
        yield "Ends are numbered as you thread them."


def start_at_centre(dressing: Dressing, *, is_whole: bool, is_behind: bool) -> str:
    """Return where to start in the middle and where to go; behind the loom sides are exchanged."""
    near, far = dressing.first_end, dressing.last_edge
    behind = f": behind the loom, first to your {near}" if is_behind else ""
    loom = " of the loom" if is_whole else ""
    seen = f"seen from the front{loom}{behind}"
    return f"Start at the centre, out to the {far} edge first, {seen}."


def first_dent_at_centre(dressing: Dressing, *, is_whole: bool) -> str:
    """Return in which dent the first end lies, counted from the middle of the reed."""
    dent, that = dressing.ends[0].dent, dent_at_centre(dressing)
    if not is_whole:
        return f"Dent {dent} is {that}, seen from the front."
    return f"End 1 goes into dent {dent}. That is {that}, seen from the front of the loom."


def dent_at_centre(dressing: Dressing) -> str:
    """Return which dent the first end lies in, counted from the middle of the reed."""
    sley, dent = dressing.sley, dressing.ends[0].dent
    off = 2 * (sley.first_dent + dent - 1) - sley.reed_dents - 1
    side = dressing.last_edge if off > 0 else dressing.first_end
    return f"dent {(abs(off) + 1) // 2} {side} of the centre" if off else "the reed's middle dent"


def order_line(dressing: Dressing) -> str:
    """Return in one printed line how the ends are threaded; "" where it is from edge to edge."""
    if dressing.thread_first:
        return f"Threaded first: all {dressing.thread_first} ends; then the others."
    if dressing.thread_from == "centre":
        return (
            f"Threaded from the centre: out to the {dressing.last_edge} edge, then from the centre "
            f"to the {dressing.first_end}."
        )
    return ""
