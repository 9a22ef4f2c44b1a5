"""The length of a plan's warp, the yarn it takes, and how close that yarn could be set."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from companion.base.text import listed, printable
from companion.loom.drawdown import drawdown
from companion.loom.dressing import ClosestSett, End, Sley, YarnNeed, Yarns
from companion.plan.draft.draft import Draft, shortest_period
from companion.plan.fault import Fault
from companion.plan.file.reader import Plan
from companion.plan.schema import Length, PlanFile, Yarn
from companion.yarn.counts import CM_PER_INCH, read_size
from companion.yarn.length import WantedCloth, rounded_up, warp_length
from companion.yarn.need import METRES_PER_INCH, need, picks_in, read_package, shared, weft_length
from companion.yarn.sett import USUAL_K, Weave, closest_sett, mean_weave, threads_side_by_side

_MOST_LISTED = 8
_QUARTER_YARD = Fraction(9)
_QUARTER_METRE = 25 / CM_PER_INCH


def yarns(plan: Plan, in_reed: Sley, ends: Sequence[End], beam: int = 0) -> Yarns | None:
    """Return what a plan's lengths and yarns come to; None where it gives no lengths.

    Of one beam's warp alone, or, for 0, of all there is; lengths of all are the first one's.
    """
    file = plan.file
    if file.length is None:
        return None
    wanted = _wanted(file, file.length, beam)
    length = warp_length(wanted)
    step = _wind_step(file, file.length)
    beams = (beam,) if beam else (1, 2) if file.second_beam else (1,)
    edges = [ends[0].colour, ends[-1].colour] * in_reed.floating
    held = {number: _ends_by_colour(ends, number, edges) for number in beams}
    to_wind = dict(sum(held.values(), Counter[str]()))
    by_yarn = _ends_by_yarn(file, to_wind)
    lengths = {number: warp_length(_wanted(file, file.length, number)) for number in beams}
    inches: dict[Yarn, Fraction] = defaultdict(Fraction)
    for number, colours in held.items():
        for yarn, threads in _ends_by_yarn(file, colours).items():
            inches[yarn] += threads * rounded_up(lengths[number].total, step)
    return Yarns(
        wanted=wanted,
        length=length,
        wind=rounded_up(length.total, step),
        ends=to_wind,
        needs=(
            *(_need(yarn, number, inches[yarn]) for yarn, number in by_yarn.items()),
            *(() if beam else _weft_needs(file, length.woven, in_reed.width)),
        ),
        without=_without(file, to_wind),
        setts=_setts(plan.draft, tuple(by_yarn)),
    )


def yarn_contradictions(plan: Plan) -> Iterator[Fault]:
    """Yield every warp yarn that the warp has no ends for."""
    colours = dict.fromkeys(plan.draft.colours)
    named = [colour for colour in colours if colour]
    own = {yarn.colour for yarn in plan.file.yarn if yarn.use == "warp"}
    for at, yarn in enumerate(plan.file.yarn):
        if yarn.use == "weft":
            continue
        if yarn.colour is not None and yarn.colour not in named:
            known = listed(map(printable, named), "or", most=_MOST_LISTED)
            there = f"of {known}" if named else "with a colour"
            yield Fault(
                ("yarn", at, "colour"),
                f"expected ends {there}, and the warp has none of {printable(yarn.colour)}",
                "Write a colour that the threading or [[colours]] names, or leave colour out",
            )
        elif yarn.colour is None and own.issuperset(colours):
            yield Fault(
                ("yarn", at),
                "expected ends for this yarn, and every colour of the warp has a yarn of its own",
                "Take this yarn out, or give it a colour",
            )


def _wanted(file: PlanFile, table: Length, beam: int) -> WantedCloth:
    second = file.second_beam if beam > 1 else None
    take_up = table.take_up if second is None or second.take_up is None else second.take_up
    own_waste = None if second is None else second.loom_waste
    waste = table.loom_waste if own_waste is None else own_waste
    return WantedCloth(
        finished=file.inches(table.finished),
        take_up=take_up,
        shrinkage=table.shrinkage,
        loom_waste=file.inches(waste),
        pieces=table.pieces,
        hem=file.inches(table.hem),
        fringe=file.inches(table.fringe),
        gap=file.inches(table.gap),
        sample=file.inches(table.sample),
    )


def _wind_step(file: PlanFile, table: Length) -> Fraction:
    """Return the plan's step; a quarter of a yard or metre is common practice, no source."""
    if table.wind_step is not None:
        return file.inches(table.wind_step)
    return _QUARTER_METRE if file.units == "metric" else _QUARTER_YARD


def _ends_by_colour(ends: Sequence[End], beam: int, edges: Sequence[str]) -> Counter[str]:
    """Return the ends of one beam; floating selvedges, by their colours, are of the first."""
    counted = Counter(end.colour for end in ends if end.beam == beam)
    counted.update(edges if beam == 1 else ())
    return counted


def _ends_by_yarn(file: PlanFile, ends: Mapping[str, int]) -> dict[Yarn, int]:
    warp = {yarn.colour: yarn for yarn in file.yarn if yarn.use == "warp"}
    counted: Counter[str | None] = Counter()
    for colour, number in ends.items():
        counted[colour if colour in warp else None] += number
    return {yarn: counted[colour] for colour, yarn in warp.items()}


def _without(file: PlanFile, ends: dict[str, int]) -> dict[str, int]:
    made = {yarn.colour for yarn in file.yarn if yarn.use == "warp"}
    if None in made:
        return {}
    return {colour: number for colour, number in ends.items() if colour not in made}


def _weft_needs(file: PlanFile, woven: Fraction, width: Fraction) -> tuple[YarnNeed, ...]:
    wefts = [yarn for yarn in file.yarn if yarn.use == "weft"]
    if file.weft is None or not wefts:
        return ()
    picks = picks_in(woven, file.weft.gauge)
    turns = shared(picks, [yarn.share or 1 for yarn in wefts])
    return tuple(
        _need(yarn, number, weft_length(number, width, file.weft.take_up))
        for yarn, number in zip(wefts, turns, strict=True)
    )


def _need(yarn: Yarn, threads: int, inches: Fraction) -> YarnNeed:
    size = read_size(yarn.size)
    package = None if yarn.package is None else read_package(yarn.package)
    needed = need(inches * METRES_PER_INCH, size, extra=yarn.extra, package=package)
    share = yarn.share or 1
    return YarnNeed(yarn.use, yarn.colour or "", size, threads, needed, package, share)


def _setts(draft: Draft, warp: Sequence[Yarn]) -> tuple[ClosestSett, ...]:
    weave = weave_of(draft)
    if weave is None:
        return ()
    found = dict.fromkeys((read_size(yarn.size), yarn.sett_k or USUAL_K) for yarn in warp)
    return tuple(
        ClosestSett(size, k, closest_sett(threads_side_by_side(size.yards_per_pound, k), weave))
        for size, k in found
    )


def weave_of(draft: Draft) -> Weave | None:
    """Return how often the wefts of a draft cross in one repeat of its threading, on the mean.

    A threading that does not repeat is one repeat. None where nothing is treadled.
    """
    if not draft.moves:
        return None
    return mean_weave(drawdown(draft).rows, shortest_period(draft.shafts))
