"""The sheets of what is set up around the warp: raddle, heddles, tie-up, lift plan, treadling."""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from companion.base.text import counted, from_to
from companion.loom.dressing import Dressing, RaddlePlan, ShaftHeddles
from companion.loom.tie_up import Ties
from companion.out.paper.charts import heddle_chart
from companion.out.paper.repeats import Picks, repeat_of, runs_of
from companion.out.paper.sheet import Row, Sheet, SheetLine, pieces
from companion.plan.draft.lifts import as_lifts
from companion.wording.warp_facts import move_lines

SECTIONS_A_LINE = 5


def raddle_sheet(dressing: Dressing) -> Sheet | None:
    """Return the ends of each section, or None where the plan has no raddle."""
    raddle = dressing.raddle
    if raddle is None:
        return None
    return Sheet(
        name="raddle" if dressing.beam_number <= 1 else "raddle for the second warp",
        numbered="line",
        spanned="section",
        content="ends in each section",
        intro=tuple(_raddle_intro(raddle, dressing.first_end)),
        lines=tuple(_raddle_lines(raddle.counts)),
    )


def _raddle_intro(raddle: RaddlePlan, edge: str) -> Iterator[str]:
    yield f"Section 1 is the first one used at the {edge} edge, seen from the front of the loom."
    if raddle.empty_before is None:
        yield f"It begins {counted(raddle.half, 'section')} before the centre of the raddle."
    else:
        yield f"Leave {counted(raddle.empty_before, 'section')} empty before it."
    yield "The numbers are ends, one number for each section in order."


def _raddle_lines(counts: Sequence[int]) -> Iterator[SheetLine]:
    sums = list(accumulate(counts, initial=0))
    for number, at in enumerate(range(0, len(counts), SECTIONS_A_LINE), start=1):
        held = counts[at : at + SECTIONS_A_LINE]
        last = at + len(held)
        ends = f"ends {from_to(sums[at] + 1, sums[last])}" if any(held) else "no ends"
        yield SheetLine(number, (at + 1, last), (*pieces(held), f"({ends})"))


def heddles_sheet(dressing: Dressing) -> Sheet:
    """Return how many heddles each shaft needs, and where."""
    near, far = dressing.first_end, dressing.last_edge
    return Sheet(
        name="heddles",
        numbered="shaft",
        content="heddles",
        intro=(
            f"Shaft 1 is the one nearest the {dressing.shaft_one} of the loom.",
            f"All heddles of a shaft, then those {near} and {far} of centre, seen from the front.",
            *move_lines(dressing),
        ),
        lines=tuple(
            SheetLine(s.shaft, None, tuple(_heddles(s, near, far))) for s in dressing.heddles
        ),
        charts=(heddle_chart(dressing),),
    )


def _heddles(shaft: ShaftHeddles, near: str, far: str) -> Iterator[str]:
    yield f"{shaft.needed}: {shaft.before_centre} {near}, {shaft.after_centre} {far}"
    if shaft.have is not None:
        short = f", {shaft.short} short" if shaft.short else ""
        yield f"({shaft.have} on the loom{short})"


def tie_up_sheet(dressing: Dressing) -> Sheet | None:
    """Return the shafts tied to each treadle on this loom, or None where nothing can be tied."""
    plan = dressing.tie_up
    if plan is None or plan.way == "none":
        return None
    is_both = plan.raises and plan.lowers
    way = "go up or down, as told" if is_both else "rise" if plan.raises else "sink"
    return Sheet(
        name="tie-up",
        numbered="treadle",
        content="shafts",
        intro=(f"Tied shafts {way}.",),
        lines=tuple(
            SheetLine(treadle, None, tuple(_tied(ties, is_both=is_both)))
            for treadle, ties in enumerate(plan.treadles, start=1)
        ),
    )


def _tied(ties: Ties, *, is_both: bool) -> Iterator[str]:
    if not ties.number:
        yield "none"
    elif not is_both:
        yield from pieces(ties.up or ties.down)
    else:
        yield from (Row(f"up {shafts}") for shafts in pieces(ties.up))
        yield from (Row(f"down {shafts}") for shafts in pieces(ties.down))


def treadling_sheet(dressing: Dressing) -> Sheet | None:
    """Return the treadles of each pick as this loom is tied, or the shafts that the draft lifts."""
    draft, ties = dressing.draft, dressing.tie_up
    is_lifted = bool(draft.lifts) or (ties is not None and ties.way == "none")
    picks = as_lifts(draft).lifts if is_lifted else ties.picks if ties else ()
    if not picks:
        return None
    if dressing.loom_kind == "dobby":
        return _peg_list(dressing.pegged, len(picks))
    what = "shafts to lift" if is_lifted else "treadles"
    repeat = repeat_of(picks)
    times = len(picks) // len(repeat)
    together = "lifted" if is_lifted else "pressed"
    intro = [f"The numbers are {what}, pick by pick; + joins those {together} together; 0 is none."]
    if times > 1:
        intro.append(f"Weave these {counted(len(repeat), 'pick')} {times} times.")
    return Sheet(
        name="lift plan" if is_lifted else "treadling",
        numbered="line",
        spanned="pick",
        content=what,
        intro=tuple(intro),
        lines=tuple(_pick_lines(repeat)),
    )


def _peg_list(bars: Picks, picks: int) -> Sheet:
    intro = ["Each line is one bar and one pick; the numbers are the shafts that its pegs raise."]
    if picks > len(bars):
        intro.append(f"The bars go round {picks // len(bars)} times.")
    return Sheet(
        name="peg list",
        numbered="bar",
        content="pegs",
        intro=tuple(intro),
        lines=tuple(
            SheetLine(number, None, pieces(shafts) or ("none",))
            for number, shafts in enumerate(bars, 1)
        ),
    )


def _pick_lines(picks: Picks) -> Iterator[SheetLine]:
    at = 0
    for number, (run, times) in enumerate(runs_of(picks), start=1):
        words = pieces(["+".join(map(str, pick)) or "0" for pick in run])
        often = (f"{times} times",) if times > 1 else ()
        last = at + len(run) * times
        yield SheetLine(number, (at + 1, last), (*words, *often))
        at = last
