"""The computed plan as plain lines, for `companion check`."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import starmap

from companion.base.runs import LONGEST_TURN, in_turns, run_lengths
from companion.base.text import counted, noun_for, ruler, sentence
from companion.job import Stage, Step, stage, stages
from companion.loom import weaving
from companion.loom.dressing import Dressing, Region, SectionPlan, YarnNeed, Yarns
from companion.loom.threading_order import as_threaded
from companion.wording.callouts import describe
from companion.wording.contents import tied
from companion.wording.openings import opening
from companion.wording.remarks import told
from companion.wording.stages import group_name, title
from companion.wording.warp_facts import colours_in_order, move_lines
from companion.wording.ways import before_steps, in_dents, order_line, region_line
from companion.yarn.measured import density, gauge, long_measure, measure, weight, yardage
from companion.yarn.sett import USUAL_SHARE

MOST_STRETCHES = 12
"""Stretches of stripes told in order; of more the sheets tell. Our own choice."""


def report(dressing: Dressing) -> Iterator[str]:
    """Yield the plan's lines, most needed first."""
    yield dressing.title
    yield from _warp(dressing)
    yield from _reed(dressing)
    yield from _heddles(dressing)
    if dressing.sections is not None:
        yield _sections(dressing.sections, dressing.first_end)
    else:
        for warp in dressing.warps or (dressing,):
            yield from _raddle(warp)
    if dressing.is_knotted:
        yield f"All {len(dressing.ends)} ends are knotted to old ones; nothing is threaded."
    yield from filter(None, [order_line(dressing)])
    yield from _groups(dressing)
    yield from _tie_up(dressing)
    if dressing.yarns is not None:
        yield from _length(dressing.yarns, dressing.units)
        yield from _yarn(dressing.yarns, dressing)
    yield from map(_warp_of_two, dressing.warps)
    yield from (f"Note: {told(note)}" for note in (*dressing.notes, *weaving.remarks(dressing)))


def _warp(dressing: Dressing) -> Iterator[str]:
    ends, floating = len(dressing.ends), 2 * dressing.sley.floating
    to_wind = f" and {floating} floating selvedge ends: {ends + floating} to wind"
    yield f"Ends: {ends} in heddles{to_wind if floating else ''}."
    yield f"Sett: {density(dressing.sett, dressing.units)}{_mean_sett(dressing)}."
    colours = run_lengths(end.colour for end in dressing.ends)
    if any(name for name, _ in colours):
        totals = Counter(end.colour for end in dressing.ends)
        yield f"Colours: {_colour_totals(totals)}{_stripes(colours)}."
    order = [*colours_in_order([end.colour for end in dressing.ends])]
    if len(colours) > 1 and len(order) <= MOST_STRETCHES:
        yield f"Order of the stripes, from end 1: {' '.join(order)}."


def _mean_sett(dressing: Dressing) -> str:
    """Return what regions of the reed come to between them, as an addition to the sett."""
    regions = dressing.sley.regions
    if not regions:
        return ""
    dents = regions[-1].last_dent - regions[0].first_dent + 1
    mean = len(dressing.ends) * dressing.dents_per_inch / dents
    return f"; over all its regions {density(mean, dressing.units)}"


def _stripes(colours: Sequence[tuple[str, int]]) -> str:
    if len(colours) == 1:
        return ""
    if all(length == 1 for _, length in colours):
        return "; another at every end"
    return f"; {counted(len(colours), 'stripe')}"


def _colour_totals(totals: Mapping[str, int]) -> str:
    return ", ".join(f"{name or 'no colour named'} {total}" for name, total in totals.items())


def _reed(dressing: Dressing) -> Iterator[str]:
    sley, units, edge = dressing.sley, dressing.units, dressing.first_end
    yield f"Reed: {gauge(dressing.dents_per_inch, units)}, {sley.reed_dents} dents."
    if sley.regions:
        yield f"Sley, from the {edge} edge, by regions:"
        yield from (_region(region, dressing) for region in sley.regions)
    else:
        yield f"Sley, from the {edge} edge: {in_dents(sley.pattern)}."
    yield f"Width in the reed: {measure(sley.width, units)}, {len(sley.counts)} dents used."
    last = sley.first_dent + len(sley.counts) - 1
    yield (
        f"Dents counted from the {edge} end of the reed: first {sley.first_dent}, last {last}; "
        f"{sley.empty_before} empty before, {sley.empty_after} empty after."
    )


def _sections(plan: SectionPlan, edge: str) -> str:
    empty = f"; {plan.empty_before} empty before" if plan.empty_before else ""
    sections, turns = counted(len(plan.counts), "section"), counted(plan.turns, "turn")
    return f"Beam: {sections} of {turns} from the {edge}: {_spread(plan.counts)} ends{empty}."


def _warp_of_two(warp: Dressing) -> str:
    long = ""
    if warp.yarns:
        needed, wound = warp.yarns.length.total, warp.yarns.wind
        long = f", {measure(needed, warp.units)}, so wind {long_measure(wound, warp.units)}"
    turns = f"; {counted(warp.beam.most_turns, 'turn')} at most" if warp.beam else ""
    return f"Beam {warp.beam_number}: {counted(len(warp.ends), 'end')}{long}{turns}."


def _region(region: Region, dressing: Dressing) -> str:
    dents = region.last_dent - region.first_dent + 1
    wide = measure(dents / dressing.dents_per_inch, dressing.units)
    return region_line(region, f", {density(region.sett, dressing.units)}, {wide} wide")


def _heddles(dressing: Dressing) -> Iterator[str]:
    first, other = dressing.first_end, dressing.last_edge
    yield f"Shaft 1 is the one nearest the {dressing.shaft_one} of the loom."
    yield from move_lines(dressing)
    for shaft in dressing.heddles:
        have = "" if shaft.have is None else f"; {shaft.have} on the loom"
        short = f", {shaft.short} short" if shaft.short else ""
        needed = counted(shaft.needed, "heddle")
        yield (
            f"Shaft {shaft.shaft}: {needed}, {shaft.before_centre} {first} of centre "
            f"and {shaft.after_centre} {other} of centre (seen from the front){have}{short}."
        )


def _raddle(dressing: Dressing) -> Iterator[str]:
    raddle = dressing.raddle
    if raddle is None:
        return
    spread = _spread(raddle.counts)
    sections = counted(len(raddle.counts), "section")
    own = f", beam {dressing.beam_number}" if dressing.beam_number else ""
    yield f"Raddle{own}: {sections} from the {dressing.first_end}: {spread} ends."
    if raddle.empty_before is not None:
        before = counted(raddle.empty_before, "section")
        yield f"Raddle{own}: {before} empty before, {raddle.empty_after} after."


def _spread(counts: Sequence[int]) -> str:
    """Return the ends of each section in order, those that come again told once."""
    return ", ".join(starmap(_turn, in_turns(counts, LONGEST_TURN)))


def _turn(counts: Sequence[int], times: int) -> str:
    told = ", ".join(map(str, counts))
    if len(counts) == 1:
        return f"{times} of {told}"
    return told if times == 1 else f"{times} times ({told})"


def _groups(dressing: Dressing) -> Iterator[str]:
    sizes = [group.ends for group in as_threaded(dressing).groups]
    low, high = min(sizes), max(sizes)
    size = f"{low}" if low == high else f"{low} to {high}"
    groups = counted(len(sizes), "group")
    yield f"Ends are counted in {groups} of {size} {noun_for(high, 'end')}."


def _tie_up(dressing: Dressing) -> Iterator[str]:
    plan, picks = dressing.tie_up, len(dressing.draft.lifts)
    if dressing.loom_kind == "table":
        yield "Table loom: a lever for each shaft, and nothing to tie up."
    if picks:
        bars = f"; {counted(len(dressing.pegged), 'bar')} to peg"
        yield f"Lift plan: {counted(picks, 'pick')}{bars if dressing.loom_kind == 'dobby' else ''}."
    if plan is None or plan.way == "none":
        return
    loom = f" on a {dressing.loom_kind} loom" if dressing.loom_kind else ""
    is_both = plan.raises and plan.lowers
    verb = "go up or down" if is_both else "rise" if plan.raises else "sink"
    yield f"Tie-up{loom}: tied shafts {verb}."
    for treadle, ties in enumerate(plan.treadles, start=1):
        yield f"Treadle {treadle}: {tied(ties, is_both=is_both)}."
    if plan.picks:
        yield f"Treadling: {counted(len(plan.picks), 'pick')}."


def _length(yarns: Yarns, units: str) -> Iterator[str]:
    length, wanted = yarns.length, yarns.wanted
    yield f"Warp length: {measure(length.total, units)}, so wind {long_measure(yarns.wind, units)}."
    pieces = f"{wanted.pieces} pieces of" if wanted.pieces > 1 else "one piece of"
    spent = [
        f"{pieces} {measure(length.warp_each, units)}",
        *(
            f"{measure(part, units)} {name}"
            for part, name in (
                (length.unwoven, "unwoven for fringes and gaps"),
                (length.sample, "for a sample"),
                (length.loom_waste, "loom waste"),
            )
            if part
        ),
    ]
    yield f"Of that: {', '.join(spent)}."
    hems = f", with {measure(wanted.hem, units)} more for each hem" if wanted.hem else ""
    yield (
        f"Weave {measure(length.cloth_each, units)} for each piece, measured off the loom. "
        f"Finished it will be {measure(wanted.finished, units)} long{hems}."
    )


def _yarn(yarns: Yarns, dressing: Dressing) -> Iterator[str]:
    floating = ", floating selvedges among them" if dressing.sley.floating else ""
    by_colour = f"; {_colour_totals(yarns.ends)}" if any(yarns.ends) else ""
    yield f"Ends to wind{floating}: {sum(yarns.ends.values())}{by_colour}."
    for each in yarns.needs:
        yield _yarn_line(each, dressing.units)
    for colour, ends in yarns.without.items():
        if yarns.needs:
            yield f"No yarn is given for the {ends} ends of {colour or 'no colour named'}."
    for size, k, closest in yarns.setts:
        share = round(dressing.sett / closest * 100)
        yield (
            f"Sett of {size}: {share} % of the closest in this weave, which is "
            f"{density(closest, dressing.units)} by Ashenhurst's rule (K {float(k):g}, woven with "
            f"as many picks of the same yarn). About {ruler(USUAL_SHARE * 100)} % is usual."
        )


def _yarn_line(each: YarnNeed, units: str) -> str:
    name = f"{each.colour}, {each.size}" if each.colour else str(each.size)
    threads = "ends" if each.use == "warp" else "picks"
    needed, packages = each.need, ""
    if each.package is not None and needed.packages is not None:
        packages = f", so buy {needed.packages} of {each.package.text}"
    return (
        f"{each.use.capitalize()} yarn, {name}: {each.threads} {threads}, "
        f"{yardage(needed.metres, units)}, {weight(needed.kilograms, units)}{packages}."
    )


def step_lines(dressing: Dressing) -> Iterator[str]:
    """Yield every step of every pass the plan asks for, a heading before each group."""
    for name in stages(dressing):
        walked = stage(dressing, name)
        yield f"{sentence(title(walked))} {opening(walked)}"
        for group in walked.groups:
            called = group_name(group, walked)
            held = counted(group.expected, walked.counted)
            yield f"Group {group.number}{f', {called}' if called else ''}: {held}."
            for step in walked.steps_of(group):
                yield f"  {step.number}. {_step_line(step, walked)}"


def _step_line(step: Step, walked: Stage) -> str:
    empty = f"leave {counted(step.empty_dents, 'dent')} empty; " if step.empty_dents else ""
    colour = f" ({step.colour})" if step.is_new_colour and step.colour else ""
    before = "".join(f"{said} " for said in before_steps([step], walked.dressing))
    return f"{before}{empty}{describe(step, walked)}{colour}"
