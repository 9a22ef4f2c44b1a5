"""What contradicts what in a plan that reads well line by line; all of it is told together."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Final

from companion.base.errors import Problem
from companion.base.text import counted, decimal, numbered
from companion.loom import groups, measures, raddle, sley
from companion.loom.beams import beam_faults
from companion.loom.dressing import HeddleMove, ShaftHeddles
from companion.loom.heddles import heddle_moves, heddles
from companion.loom.regions import region_faults
from companion.loom.sections import section_faults
from companion.loom.threading_order import threading_faults
from companion.loom.yarns import yarn_contradictions
from companion.plan.fault import Fault, Path, Unsure, is_unsure
from companion.plan.file.reader import Plan
from companion.plan.schema import Part
from companion.plan.threading.named import find_named
from companion.plan.threading.notation import read_numbers
from companion.plan.values import MAX_ENDS
from companion.yarn.counts import CM_PER_INCH

NEAR_SETT = 50
"""A written order may miss the sett by one part in so many: what a reed of 40 dents in 10 cm taken
for one of 10 dents in an inch misses (1.6 per cent), and less than any slip in a short order."""


_MOST_NAMED = 8
"""Shafts named in one message before the rest are "more"."""


def contradictions(plan: Plan, unsure: Unsure = frozenset()) -> tuple[Problem, ...]:
    """Return everything that keeps a plan from being dressed, in file order.

    Nothing is said of what those values enter that could not be read (`unsure`).
    """
    found = list[Fault]()
    for check, needs in _CHECKS.items():
        if not is_unsure(unsure, *needs) and not (check is _groups and found):
            found += check(plan)
    return tuple(sorted(map(plan.problem, found), key=lambda problem: problem.line))


def _reed(plan: Plan) -> Iterator[Fault]:
    if plan.file.reed.sley is not None:
        yield from _written_sett(plan)
    wrong = list(region_faults(plan)) if plan.file.reed.parts else []
    yield from wrong or _reed_width(plan)


def _written_sett(plan: Plan) -> Iterator[Fault]:
    planned, made = plan.file.warp.sett, sley.made_sett(plan)
    if abs(made - planned) * NEAR_SETT > planned:
        is_metric = measures.is_per_cm(plan.file)
        key = "ends_per_cm" if is_metric else "ends_per_inch"
        yield Fault(
            ("reed", "sley"),
            f"expected an order that makes {measures.sett_words(planned, is_metric)}, but "
            f"{plan.file.reed.sley} in this reed makes {measures.sett_words(made, is_metric)}",
            f"Write {key} = {measures.as_written(made / CM_PER_INCH if is_metric else made)}, "
            "change the order, or leave sley out to have it computed",
        )


def _reed_width(plan: Plan) -> Iterator[Fault]:
    dents, there = sley.dents_needed(plan), sley.reed_dents(plan)
    width = dents / plan.file.reed.gauge
    takes = f"{plan.ends} ends take {measures.in_units(plan.file, width)}, {dents} dents"
    if dents > there or dents > MAX_ENDS:
        yield Fault(
            ("reed", "width"),
            f"expected a warp within the reed's {there} dents, but {takes}",
            _narrower(plan, width, "reed", plan.file.reed.width),
        )
    weaving = plan.file.loom.weaving_width
    if weaving is not None and width > plan.file.inches(weaving):
        yield Fault(
            ("loom", "weaving_width"),
            f"expected a warp within the loom's "
            f"{measures.in_units(plan.file, plan.file.inches(weaving))}, but {takes}",
            _narrower(plan, width, "loom", weaving),
        )


def _narrower(plan: Plan, width: Fraction, thing: str, written: Fraction) -> str:
    mend = (
        f"Use a {thing} of {measures.in_units(plan.file, width)} or more, fewer ends, "
        "or a closer sett"
    )
    if plan.file.units == "metric" and width <= written:
        mend += f'; if the {thing} is {decimal(written)} inches wide, write units = "inch"'
    return mend


def _raddle(plan: Plan) -> Iterator[Fault]:
    table = plan.file.raddle
    if (
        table is None
        or any(beam_faults(plan))
        or (plan.file.reed.parts and any(region_faults(plan)))
    ):
        return
    sections, there = raddle.sections_needed(plan, table), raddle.sections_there(plan, table)
    if sections > MAX_ENDS or (there is not None and sections > there):
        yield Fault(
            ("raddle", "width") if there is not None else ("raddle",),
            f"expected a warp within the raddle's {MAX_ENDS if there is None else there} "
            f"sections, but {plan.ends} ends take {sections}",
            "Use a wider raddle, fewer ends or a closer sett, or leave the raddle out",
        )


def _old_warp(plan: Plan) -> Iterator[Fault]:
    old, ends = plan.file.old_warp, plan.ends
    if old is not None and old.ends != ends:
        yield Fault(
            ("old_warp", "ends"),
            f"expected as many ends as the {ends} of the new warp, found {old.ends}",
            f"Make the new warp of {counted(old.ends, 'end')}, or thread it anew without old_warp",
        )


def _heddles(plan: Plan) -> Iterator[Fault]:
    shafts, have = plan.file.loom.shafts, plan.file.loom.heddles
    if have is None:
        return
    if len(have) != shafts:
        yield Fault(
            ("loom", "heddles"),
            f"expected heddles for each of the loom's {shafts} shafts, found {len(have)} numbers",
            "Write one number for each shaft, shaft 1 first, or leave heddles out",
        )
        return
    rows = heddles(plan)
    moves = heddle_moves(rows)
    for row in rows:
        own = [move for move in moves if move.to_shaft == row.shaft]
        if row.short > sum(move.number for move in own):
            yield Fault(
                ("loom", "heddles"),
                f"expected {counted(row.needed, 'heddle')} on shaft {row.shaft}, found {row.have}, "
                f"{row.short} short",
                _more_heddles(row, own),
            )


def _more_heddles(row: ShaftHeddles, moves: list[HeddleMove]) -> str:
    mend = f"Add {row.short} to shaft {row.shaft}"
    if not moves:
        return mend
    rest = row.short - sum(move.number for move in moves)
    first, *others = moves
    spare = f"{counted(first.number, 'spare heddle')} from shaft {first.from_shaft}" + "".join(
        f" and {move.number} from shaft {move.from_shaft}" for move in others
    )
    return f"{mend}, or move {spare}" + (f" and add {rest}" if rest else "")


def _threading(plan: Plan) -> Iterator[Fault]:
    there = plan.file.loom.shafts
    too_high = sorted({shaft for shaft in plan.draft.shafts if shaft > there})
    if not too_high:
        return
    parts = [
        (path, beyond)
        for path, shafts in _written_parts(plan, plan.file.threading, ("threading",))
        if (beyond := sorted({shaft for shaft in shafts if shaft > there}))
    ]
    place = next(place for place, shaft in enumerate(plan.draft.shafts, 1) if shaft > there)
    for path, beyond in dict(parts).items() or [(("draft",), too_high)]:
        yield Fault(
            path,
            f"expected shafts 1 to {there}, as the loom has, found {_named(beyond)}"
            + ("" if parts else f", first in heddle {place}"),
            "Correct the threading, or loom.shafts if the loom has more",
        )


def _written_parts(
    plan: Plan, parts: Iterable[Part], path: Path
) -> Iterator[tuple[Path, tuple[int, ...]]]:
    """Yield where the file itself writes shafts, with those shafts."""
    for index, part in enumerate(parts):
        if part.parts:
            yield from _written_parts(plan, part.parts, (*path, index, "parts"))
        elif part.ends:
            yield (*path, index, "ends"), read_numbers(part.ends)
        elif part.block:
            yield ("blocks", part.block), read_numbers(plan.file.blocks[part.block])
        elif part.named and (threading := find_named(part.named)):
            yield (*path, index, "named"), threading.shafts


def _named(shafts: list[int]) -> str:
    return numbered("shaft", shafts, most=_MOST_NAMED)


def _groups(plan: Plan) -> Iterator[Fault]:
    size, there = plan.file.groups.size, groups.available(plan)
    if size is not None and size > there:
        what = {"repeat": "repeats", "block": "blocks", "inch": "inches"}
        name = what.get(plan.file.groups.by, plan.file.groups.by)
        yield Fault(
            ("groups", "size"),
            f"expected at most the {there} {name} of this warp in a group, found {size}",
            f"Write {there} or less, or leave size out to have it chosen",
        )


def _tie_up(plan: Plan) -> Iterator[Fault]:
    there = plan.file.loom.shafts
    for index, shafts in enumerate(plan.draft.treadles):
        if beyond := [shaft for shaft in shafts if not 1 <= shaft <= there]:
            yield Fault(
                ("tie_up", "treadles", index) if plan.file.draft is None else ("draft",),
                f"expected shafts 1 to {there} on treadle {index + 1}, found {_named(beyond)}",
                "Correct the tie-up, or loom.shafts if the loom has more",
            )


def _treadling(plan: Plan) -> Iterator[Fault]:
    draft, there = plan.draft, len(plan.draft.treadles)
    path: Path = ("treadling",) if plan.file.draft is None else ("draft",)
    for number, pick in enumerate(draft.picks, start=1):
        if any(treadle > there for treadle in pick):
            yield Fault(
                path,
                f"expected treadles 1 to {there}, as the tie-up has, but pick {number} presses "
                f"{max(pick)}"
                if there
                else "expected a tie-up for this treadling, found none",
                "Tie that treadle up, or correct the treadling",
            )
            break
    for number, lift in enumerate(draft.lifts, start=1):
        if any(shaft > plan.file.loom.shafts for shaft in lift):
            yield Fault(
                ("lifts",) if plan.file.lifts else path,
                f"expected shafts 1 to {plan.file.loom.shafts}, but pick {number} lifts "
                f"{max(lift)}",
                "Correct the lift plan, or loom.shafts if the loom has more",
            )
            break


_WARP = (
    "units", "warp.ends_per_inch", "warp.ends_per_cm", "selvedges", "reed.dents_per_inch",
    "reed.dents_per_10cm", "reed.width", "reed.sley", "reed.parts",
)  # fmt: skip
_CHECKS: Final[Mapping[Callable[[Plan], Iterator[Fault]], tuple[str, ...]]] = {
    _reed: _WARP,
    _raddle: (*_WARP, "warp", "raddle"),
    _groups: (*_WARP, "groups"),
    _heddles: ("loom.shafts", "loom.heddles"),
    _threading: ("loom.shafts",),
    _tie_up: ("loom.shafts", "tie_up"),
    _treadling: ("loom.shafts", "tie_up", "treadling", "lifts"),
    beam_faults: ("second_beam", "loom.method", "length", "threading", "colours"),
    section_faults: (*_WARP, "beam", "length", "loom.method", "second_beam"),
    threading_faults: (
        "loom.thread_from",
        "loom.thread_first",
        "loom.passes",
        "colours",
        "threading",
    ),
    _old_warp: ("old_warp", "threading", "warp", "selvedges", "draft"),
    yarn_contradictions: ("colours", "yarn"),
}
"""What is judged, in order, and the keys it is judged by; groups last of those of the warp, since
they are only counted where the warp has its place."""
