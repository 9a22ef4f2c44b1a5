"""Random plans, and what each comes to worked out anew by the plainest means there are.

A `Loom` is dressed heddle by heddle and dent by dent as the steps of a plan tell, and then looked
at. Nothing of `companion.loom` or `companion.plan` is used to say what should be there: only the
tables of the plan file, ruler and counting.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict, deque
from fractions import Fraction
from itertools import accumulate, groupby, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import tomli_w

from companion.guide.messages import GroupStart
from companion.job import left_out, stage, stages, whole_job
from companion.job.contents import Bar, Knot, Section, Turns
from companion.loom.compute import compute_text
from companion.loom.tie_on import Bout
from companion.loom.winding import AlikeRounds
from companion.wording import Style, render

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

    from companion.job import Stage, StageName
    from companion.loom.dressing import Dressing

Tables = dict[str, Any]
COLOURS = ("white", "blue", "indigo", "old gold")
MOST_PLACES = 200
LONGEST_STRETCH = 40
"""Spaces over which a spread is looked at."""
CM = Fraction(254, 100)


class Thread(NamedTuple):
    """One end as the tables tell it."""

    place: int
    shaft: int
    colour: str
    beam: int = 1


class Case(NamedTuple):
    """A plan's tables, and the ends they ask for."""

    tables: Tables
    threads: tuple[Thread, ...]

    @property
    def text(self) -> str:
        """The plan file."""
        return tomli_w.dumps(self.tables)

    def table(self, name: str) -> Tables:
        """Return a table, empty where there is none."""
        found: Tables = self.tables.get(name, {})
        return found


def ratio(random: Random, most: int, parts: int = 4) -> Fraction:
    """Return a number above 0 with a small denominator."""
    return Fraction(random.randint(1, most), random.randint(1, parts))


# --- drawing ------------------------------------------------------------------------------------


def draw(random: Random) -> Case:
    """Return a random plan that can be dressed."""
    shafts = random.randint(2, 8)
    tables: Tables = {"title": "Drawn", "units": random.choice(["inch", "metric"])}
    blocks = {name: _run(random, shafts) for name in "AB"}
    parts = [_part(random, shafts, blocks, 2) for _ in range(random.randint(1, 3))]
    places = [shaft for part in parts for shaft in _written(part, blocks)]
    if len(places) > MOST_PLACES:
        return draw(random)
    doubled = random.randint(0, min(2, len(places) // 2))
    floating = random.randint(0, 2)
    held = [
        2 if place < doubled or place >= len(places) - doubled else 1
        for place in range(len(places))
    ]
    colours, runs = _colours(random, held)
    tables["warp"] = _warp(random, sum(held))
    tables["blocks"] = blocks
    tables["threading"] = parts
    tables["selvedges"] = {"doubled": doubled, "floating": floating}
    if runs:
        tables["colours"] = runs
    tables["groups"] = {"by": random.choice(["repeat", "block", "inch", "cm", "ends"])}
    tables["loom"] = _loom(random, shafts)
    threads = [
        Thread(place + 1, places[place], colours[place])
        for place, number in enumerate(held)
        for _ in range(number)
    ]
    case = Case(tables, tuple(threads))
    if tables["loom"].get("heddles") == [0] * shafts:
        tables["loom"]["heddles"] = _shuffled(random, places, shafts)
    _reed(random, case)
    if random.random() < 0.25:
        _regions(random, case)
    if random.random() < 0.3:
        case = _beams(random, case)
    if random.random() < 0.15:
        tables["old_warp"] = {"ends": len(case.threads)}
    _weaving(random, case, shafts)
    if tables["loom"].get("kind") in {"table", "dobby"} and random.random() < 0.5:
        _lifted(random, case, shafts)
    if random.random() < 0.5:
        tables["raddle"] = {
            random.choice(["sections_per_inch", "sections_per_cm"]): str(ratio(random, 4, 2))
        }
    if random.random() < 0.5:
        _lengths(random, tables)
    _order(random, case)
    return case


def _run(random: Random, shafts: int) -> str:
    return "-".join(str(random.randint(1, shafts)) for _ in range(random.randint(1, 6)))


def _part(random: Random, shafts: int, blocks: dict[str, str], depth: int) -> Tables:
    kind = random.choice(["ends", "block", "parts"] if depth else ["ends", "block"])
    part: Tables = {"times": random.randint(1, 4)}
    if kind == "ends":
        part["ends"] = _run(random, shafts)
    elif kind == "block":
        part["block"] = random.choice(list(blocks))
    else:
        part["parts"] = [
            _part(random, shafts, blocks, depth - 1) for _ in range(random.randint(1, 3))
        ]
    if random.random() < 0.3:
        part["name"] = "border"
    return part


def _written(part: Tables, blocks: dict[str, str]) -> list[int]:
    once: list[int] = []
    for inner in part.get("parts", []):
        once += _written(inner, blocks)
    text = part.get("ends") or blocks.get(part.get("block", ""), "")
    once += [int(shaft) for shaft in text.split("-") if shaft]
    times: int = part["times"]
    return once * times


def _colours(random: Random, held: Sequence[int]) -> tuple[list[str], list[Tables]]:
    """Return the colour of each place, and the runs of ends that say so."""
    if random.random() < 0.4:
        return [""] * len(held), []
    places: list[str] = []
    runs: list[Tables] = []
    while len(places) < len(held):
        long = min(random.randint(1, 12), len(held) - len(places))
        colour = random.choice(COLOURS)
        runs.append({"colour": colour, "ends": sum(held[len(places) : len(places) + long])})
        places += [colour] * long
    return places, runs


def _warp(random: Random, ends: int) -> Tables:
    sett = ratio(random, 60)
    table: Tables = {random.choice(["ends_per_inch", "ends_per_cm"]): str(sett)}
    if random.random() < 0.5:
        table["ends"] = ends
    if random.random() < 0.3:
        table["wound_together"] = random.randint(2, 4)
    return table


def _loom(random: Random, shafts: int) -> Tables:
    table: Tables = {"shafts": shafts}
    for key, values in {
        "first_end": ["right", "left"],
        "method": ["back-to-front", "front-to-back"],
        "passes": ["together", "separate"],
        "shaft_one": ["front", "back"],
        "kind": ["jack", "counterbalance", "countermarch", "table", "dobby"],
    }.items():
        if random.random() < 0.6:
            table[key] = random.choice(values)
    if random.random() < 0.5:
        table["heddles"] = [random.randint(900, 1000) for _ in range(shafts)]
    elif random.random() < 0.4:
        table["heddles"] = [0] * shafts
    return table


def _shuffled(random: Random, places: Sequence[int], shafts: int) -> list[int]:
    """Return heddles enough in all, some of them on shafts that do not need them."""
    have = [sum(place == shaft for place in places) for shaft in range(1, shafts + 1)]
    for _ in range(random.randint(0, 20)):
        giver = random.randrange(shafts)
        if have[giver]:
            have[giver] -= 1
            have[random.randrange(shafts)] += 1
    have[random.randrange(shafts)] += random.randint(0, 3)
    return have


def _reed(random: Random, case: Case) -> None:
    dents = max(ratio(random, 40), sett(case) / 4) if random.random() < 0.9 else sett(case) * 3
    in_metric = random.random() < 0.3
    per_inch = dents * CM / 10 if in_metric else dents
    edges = 2 * case.table("selvedges")["floating"]
    needed = math.ceil(len(case.threads) * per_inch / sett(case)) + edges + 1 + random.randint(0, 9)
    wide = (needed + Fraction(1, 2)) / per_inch
    case.tables["reed"] = {
        "dents_per_10cm" if in_metric else "dents_per_inch": str(dents),
        "width": f"{math.ceil(wide * (CM if metric(case) else 1))}",
    }


def _regions(random: Random, case: Case) -> None:
    """Let the reed hold some of the ends closer, and leave dents empty between them."""
    parts: list[Tables] = []
    left, dents = len(case.threads), 0
    while left:
        ends = min(random.randint(1, 30), left)
        part: Tables = {"ends": ends}
        if random.random() < 0.6:
            order = [
                random.randint(1, 5),
                *(random.randint(0, 3) for _ in range(random.randint(0, 2))),
            ]
            part["sley"] = "-".join(map(str, order))
        parts.append(part)
        left -= ends
        dents += 3 * ends
        if left and random.random() < 0.4:
            parts.append({"empty": random.randint(1, 6)})
            dents += 6
    per_inch, there = _reed_of(case)
    wide = (there + dents + 1) / per_inch
    case.tables["reed"]["width"] = str(math.ceil(wide * (CM if metric(case) else 1)))
    case.tables["reed"]["parts"] = parts


def _order(random: Random, case: Case) -> None:
    """Let threading begin in the middle, or with the ends of one colour."""
    if "old_warp" in case.tables or random.random() < 0.6:
        return
    loom, colours = case.tables["loom"], {thread.colour for thread in case.threads}
    if len(colours) > 1 and random.random() < 0.5:
        loom |= {"thread_first": random.choice(sorted(colours)), "passes": "separate"}
    else:
        loom["thread_from"] = "centre"
        if "parts" in case.table("reed"):
            loom["passes"] = "separate"


def _beams(random: Random, case: Case) -> Case:
    """Let some of the ends lie on a second beam."""
    table: Tables = {"tension": random.choice(["alike", "slacker", "tighter"])}
    kind = random.choice(["shafts", "colour", "order"])
    places = max(thread.place for thread in case.threads)
    if kind == "shafts":
        own = {random.choice(case.threads).shaft}
        table["shafts"] = "-".join(map(str, own))
        beams = {thread.place: 1 + (thread.shaft in own) for thread in case.threads}
    elif kind == "colour":
        table["colour"] = random.choice(case.threads).colour
        beams = {t.place: 1 + (t.colour == table["colour"]) for t in case.threads}
    else:
        order = [1, *(random.randint(1, 2) for _ in range(random.randint(1, 4)))]
        table["order"] = "-".join(map(str, order))
        beams = {place: order[(place - 1) % len(order)] for place in range(1, places + 1)}
    if set(beams.values()) != {1, 2} or table.get("colour") == "":
        return case
    case.tables["second_beam"] = table
    case.tables["loom"]["method"] = "back-to-front"
    threads = tuple(thread._replace(beam=beams[thread.place]) for thread in case.threads)
    return case._replace(threads=threads)


def _weaving(random: Random, case: Case, shafts: int) -> None:
    if random.random() < 0.4:
        return
    treadles = [
        sorted(random.sample(range(1, shafts + 1), random.randint(0, shafts - 1)))
        for _ in range(random.randint(1, 8))
    ]
    case.tables["tie_up"] = {
        "shed": random.choice(["rising", "sinking"]),
        "treadles": ["-".join(map(str, tied)) for tied in treadles],
    }
    together = random.random() < 0.4
    picks = [
        random.sample(
            range(1, len(treadles) + 1),
            min(len(treadles), 1 + (together and random.random() < 0.5)),
        )
        for _ in range(random.randint(1, 12))
    ]
    case.tables["treadling"] = [
        {
            "picks": ", ".join("+".join(map(str, sorted(pick))) for pick in picks),
            "times": random.randint(1, 3),
        }
    ]


def _lifted(random: Random, case: Case, shafts: int) -> None:
    """Let a table loom or a dobby say itself what it lifts."""
    picks = [
        sorted(random.sample(range(1, shafts + 1), random.randint(1, shafts)))
        for _ in range(random.randint(1, 12))
    ]
    case.tables.pop("tie_up", None)
    case.tables.pop("treadling", None)
    text = ", ".join("+".join(map(str, pick)) for pick in picks)
    case.tables["lifts"] = [{"shafts": text, "times": random.randint(1, 3)}]


def _lengths(random: Random, tables: Tables) -> None:
    tables["length"] = {
        "finished": random.randint(10, 90),
        "pieces": random.randint(1, 5),
        "hem": random.randint(0, 3),
        "fringe": random.randint(0, 6),
        "gap": random.randint(0, 3),
        "sample": random.choice([0, 12]),
        "take_up": f"{random.randint(0, 20)} %",
        "shrinkage": f"{random.randint(0, 20)} %",
        "loom_waste": random.randint(10, 40),
    }
    tables["beam"] = {"around": random.randint(8, 40), "turns_a_step": random.randint(1, 3)}
    tables["yarn"] = [{"use": "warp", "size": "8/2 cotton"}]
    if "second_beam" not in tables and random.random() < 0.4:
        tables["loom"]["method"] = "back-to-front"
        tables["beam"]["section_width"] = str(ratio(random, 6, 2))
        if random.random() < 0.5:
            tables["beam"]["sections"] = 100_000
    if "second_beam" in tables and random.random() < 0.7:
        tables["second_beam"]["take_up"] = f"{random.randint(0, 30)} %"


def metric(case: Case) -> bool:
    """Return whether the plan's lengths are centimetres."""
    return bool(case.tables["units"] == "metric")


def sett(case: Case) -> Fraction:
    """Return the ends in an inch that the warp asks for."""
    warp = case.table("warp")
    return (
        Fraction(warp["ends_per_inch"])
        if "ends_per_inch" in warp
        else Fraction(warp["ends_per_cm"]) * CM
    )


# --- judging ------------------------------------------------------------------------------------


def faults(case: Case) -> list[str]:
    """Return in what the companion and the plainest reckoning differ; [] where they agree."""
    _, dressing = compute_text(case.text, "drawn.toml")
    return [fault for judge in JUDGES for fault in judge(case, dressing)]


def _ends(case: Case, dressing: Dressing) -> Iterator[str]:
    came = [Thread(end.place, end.shaft, end.colour, end.beam) for end in dressing.ends]
    if came != list(case.threads):
        yield "the ends are not those of the tables"
    if [end.number for end in dressing.ends] != list(range(1, len(came) + 1)):
        yield "the ends are not numbered from 1 on"


def _is_even(counts: Sequence[int]) -> bool:
    """Return whether any two stretches of as many spaces hold as many ends, but for one."""
    upto = list(accumulate(counts, initial=0))
    for length in range(1, min(len(counts), LONGEST_STRETCH)):
        sums = {last - first for first, last in zip(upto, upto[length:], strict=False)}
        if max(sums) - min(sums) > 1:
            return False
    return True


def _reed_of(case: Case) -> tuple[Fraction, int]:
    reed = case.table("reed")
    per_inch = (
        Fraction(reed["dents_per_inch"])
        if "dents_per_inch" in reed
        else Fraction(reed["dents_per_10cm"]) * CM / 10
    )
    wide = Fraction(reed["width"]) / (CM if metric(case) else 1)
    return per_inch, math.floor(wide * per_inch)


def _in_reed(case: Case, dressing: Dressing) -> Iterator[str]:
    floating, sley = case.table("selvedges")["floating"], dressing.sley
    per_inch, there = _reed_of(case)
    body = list(sley.counts[floating : len(sley.counts) - floating])
    held = Counter(end.dent for end in dressing.ends)
    if [held[dent] for dent in range(floating + 1, floating + len(body) + 1)] != body:
        yield "the dents hold other ends than are counted"
    if sum(body) != len(case.threads) or not body[0] or not body[-1]:
        yield "the dents do not hold the ends"
    if list(sley.counts) != [1] * floating + body + [1] * floating:
        yield "the floating selvedges are not in the outermost dents"
    yield from _spread(case, body, sett(case) / per_inch)
    if sley.empty_before + len(sley.counts) + sley.empty_after != there:
        yield "the dents do not come to the reed's"
    if (
        sley.empty_after - sley.empty_before not in {0, 1}
        or sley.first_dent != sley.empty_before + 1
    ):
        yield "the warp is not centred"
    if sley.width * per_inch != len(sley.counts):
        yield "the width is not that of the dents"


def _spread(case: Case, body: list[int], per_dent: Fraction) -> Iterator[str]:
    parts = case.table("reed").get("parts", [])
    if not parts:
        yield from _one_order(body, per_dent)
    rest = body
    for part in parts:
        held = _dents_of(part, rest)
        if "sley" in part:
            order = [int(ends) for ends in part["sley"].split("-")]
            if any(ends != order[at % len(order)] for at, ends in enumerate(held[:-1])):
                yield "a region is not in its order"
        elif "empty" not in part:
            yield from _one_order(held, per_dent)
        rest = rest[len(held) :]
    if parts and rest:
        yield "dents are left over after the last region"


def _dents_of(part: Tables, rest: Sequence[int]) -> list[int]:
    """Return the dents that a region takes of those that are left."""
    if "empty" in part:
        return list(rest[: part["empty"]])
    upto = list(accumulate(rest))
    return list(rest[: upto.index(part["ends"]) + 1]) if part["ends"] in upto else list(rest)


def _one_order(body: Sequence[int], per_dent: Fraction) -> Iterator[str]:
    # The last dent takes what is left, so only those before it need be even.
    if not _is_even(body[:-1]):
        yield "the ends are not spread evenly"
    period = per_dent.denominator
    if len(body) > period and sum(body[:period]) != per_dent.numerator:
        yield "the order does not make the sett"


def _heddles(case: Case, dressing: Dressing) -> Iterator[str]:
    places = {thread.place: thread.shaft for thread in case.threads}
    middle = (len(places) + 1) // 2
    for row in dressing.heddles:
        near = sum(1 for place, shaft in places.items() if shaft == row.shaft and place <= middle)
        far = sum(1 for place, shaft in places.items() if shaft == row.shaft and place > middle)
        if (row.before_centre, row.after_centre, row.needed) != (near, far, near + far):
            yield f"shaft {row.shaft} needs other heddles"
    have = dict(enumerate(case.table("loom").get("heddles", []), start=1))
    for move in dressing.moves:
        have[move.from_shaft] -= move.number
        have[move.to_shaft] += move.number
    needed = Counter(places.values())
    if any(number < needed[shaft] for shaft, number in have.items()):
        yield "a shaft is short once the heddles are moved"
    if have and [row.have for row in dressing.heddles] != list(have.values()):
        yield "the moves do not come to the heddles"


def _in_raddle(case: Case, dressing: Dressing) -> Iterator[str]:
    if dressing.raddle is None:
        if "raddle" in case.tables:
            yield "the raddle is lost"
        return
    if dressing.warps:
        for warp in dressing.warps:
            yield from _above_the_dents(case, dressing, warp)
        return
    counts, together = dressing.raddle.counts, case.table("warp").get("wound_together", 1)
    if sum(counts) != len(case.threads) or not counts[0] or not counts[-1]:
        yield "the sections do not hold the ends"
    if any(count % together for count in counts[:-1]):
        yield "a bundle is parted in the raddle"
    if "parts" in case.table("reed"):
        yield from _above_the_dents(case, dressing, dressing)
    elif not _is_even([count // together for count in counts[:-1]]):
        yield "the sections are not even"


def _above_the_dents(case: Case, dressing: Dressing, warp: Dressing) -> Iterator[str]:
    """Look whether every bundle lies in the section above the dent of its first end."""
    table, (per_inch, _) = case.table("raddle"), _reed_of(case)
    per_section = (
        Fraction(table.get("sections_per_inch", 0)) or Fraction(table["sections_per_cm"]) * CM
    )
    first, together = dressing.ends[0].dent, case.table("warp").get("wound_together", 1)
    held = Counter(
        math.floor((warp.ends[at - at % together].dent - first) / per_inch * per_section)
        for at in range(len(warp.ends))
    )
    last = max(held)
    if dressing.warps:  # both lie over the whole width
        last = math.floor((dressing.ends[-1].dent - first) / per_inch * per_section)
    if warp.raddle and warp.raddle.counts != tuple(held[at] for at in range(last + 1)):
        yield "the sections do not lie above the dents"


def _groups(case: Case, dressing: Dressing) -> Iterator[str]:
    last = 0
    for group in dressing.groups:
        if group.first != last + 1 or group.last < group.first:
            yield f"group {group.number} does not follow the one before"
        last = group.last
        if last < len(case.threads) and case.threads[last - 1].place == case.threads[last].place:
            yield f"group {group.number} parts a heddle"
        if (
            case.table("groups")["by"] in {"repeat", "block", "ends"}
            and group.last - group.first >= 24
        ):
            yield f"group {group.number} is too long to count"
    if last != len(case.threads):
        yield "the groups do not hold all ends"


class Loom:
    """A loom that is dressed by hand, from what the steps tell alone."""

    def __init__(self, case: Case) -> None:
        self.numbers = list(range(1, len(case.threads) + 1))
        """Of the ends, in the order in which the hand comes to them."""
        self.first = case.table("loom").get("thread_first", "")
        self.is_central = case.table("loom").get("thread_from") == "centre"
        self.is_out = self.is_again = False
        self.rows: dict[int, list[tuple[int, ...]]] = defaultdict(list)
        """The heddles of each shaft, from the first edge on; () for one left free."""
        self.order: deque[tuple[int, ...]] = deque()
        """The ends of all heddles, from the first edge on, where none is left free."""
        self.dents: dict[int, list[int]] = defaultdict(list)
        self.floating: list[int] = []
        self.dent: int | None = 0

    def begin(self, case: Case, walked: Stage) -> Iterator[str]:
        """Lay the ends out as the hand comes to them: outward from the centre, or by colour."""
        self.numbers, self.dent = list(range(1, len(case.threads) + 1)), 0
        if walked.name == "sley":
            return
        if self.is_central:
            back = next((step.first_end for step in walked.steps if step.is_back), 0)
            cut = len(self.numbers) + 1 - back if back else 0
            yield from _parted(case, walked.dressing.whole or walked.dressing, cut)
            self.numbers = [*self.numbers[cut:], *self.numbers[:cut][::-1]]
            self.dent = None if back else 0
        elif self.first:
            self.numbers.sort(key=lambda end: case.threads[end - 1].colour != self.first)

    def do(self, walked: Stage) -> Iterator[str]:
        """Carry out a pass over the warp; yield what cannot be done."""
        for step in walked.steps:
            ends = tuple(self.numbers[step.first_end - 1 : step.last_end]) if step.first_end else ()
            if step.is_back:
                self.is_out, self.is_again = self.is_central, True
                self.dent = walked.steps[0].dents[0] if step.dents else None
            if not step.is_floating and walked.name != "sley":
                self._thread(ends, step.shafts, step.heddles_left)
            if walked.name != "thread":
                yield from self._sley(step.dents, step.empty_dents, ends)

    def _thread(self, ends: tuple[int, ...], shafts: Sequence[int], left: int) -> None:
        row, held = self.rows[shafts[0]], tuple(sorted(ends))
        row += [()] * left
        if self.is_out:
            row.insert(0, held)
            self.order.appendleft(held)
        elif self.is_again and () in row:
            row[row.index(())] = held
        else:
            row.append(held)
            self.order.append(held)

    def _sley(self, dents: Sequence[int], empty: int, ends: Sequence[int]) -> Iterator[str]:
        if self.dent is not None and abs(dents[0] - self.dent) not in {0, empty + 1}:
            yield f"dent {dents[0]} is not the next after {empty} empty"
        if len(dents) != (len(ends) or 1):
            yield f"{len(ends)} ends are told {len(dents)} dents"
        for dent, end in zip(dents, ends, strict=False):
            self.dents[dent].append(end)
        self.floating += dents if not ends else ()
        self.dent = dents[-1]


def _passes(case: Case, dressing: Dressing) -> Iterator[str]:
    if "old_warp" in case.tables:
        yield from _knotted(case, dressing)
        return
    loom = Loom(case)
    for name in stages(dressing):
        walked = stage(dressing, name)
        yield from loom.begin(case, walked)
        yield from loom.do(walked)
        yield from _counted(walked)
        yield from _stripes(case, walked, loom.numbers)
        if [step.number for step in walked.steps] != list(range(1, len(walked.steps) + 1)):
            yield f"the steps of {name} are not numbered from 1 on"
    yield from _threaded(case, loom)
    yield from _sleyed(case, dressing, loom)


def _stripes(case: Case, walked: Stage, numbers: Sequence[int]) -> Iterator[str]:
    """Lay the ends of each group out in their colours, and hear whether that is told."""
    runs = [[*run] for _, run in groupby(thread.colour for thread in case.threads)]
    inner = {(run[0], len(run)) for run in runs[1:-1]}
    is_wanted = (
        len(inner) > len({colour for colour, _ in inner})
        and walked.name != "sley"
        and case.table("loom").get("method") != "front-to-back"
        and "second_beam" not in case.tables
        and "thread_first" not in case.table("loom")
    )
    for group in walked.groups:
        ends = [
            numbers[end - 1]
            for step in walked.steps_of(group)
            if step.first_end
            for end in range(step.first_end, step.last_end + 1)
        ]
        lie = [
            (str(len([*run])), colour)
            for colour, run in groupby(case.threads[end - 1].colour for end in ends)
        ]
        told = render(GroupStart(walked, group), Style()).text.partition("At the cross: ")[2]
        if re.findall(r"(\d+) ([a-z ]+)[,.]", told) != (lie if is_wanted and len(lie) > 1 else []):
            yield "the stripes at the cross are told otherwise"


def _threaded(case: Case, loom: Loom) -> Iterator[str]:
    """Look through the heddles of each shaft, and all of them where none was left free."""
    ends: dict[int, list[int]] = defaultdict(list)
    for number, thread in enumerate(case.threads, start=1):
        ends[thread.place].append(number)
    shafts = {thread.place: thread.shaft for thread in case.threads}
    for shaft in set(shafts.values()):
        held = [tuple(ends[place]) for place, own in shafts.items() if own == shaft]
        if loom.rows[shaft] != held:
            yield "the loom is not threaded as the tables say"
    if not loom.first and list(loom.order) != [tuple(held) for held in ends.values()]:
        yield "ends cross on their way to the heddles"


def _sleyed(case: Case, dressing: Dressing, loom: Loom) -> Iterator[str]:
    counts = dressing.sley.counts
    held = Counter(loom.floating) + Counter({dent: len(own) for dent, own in loom.dents.items()})
    if [held[dent] for dent in range(1, len(counts) + 1)] != list(counts):
        yield "the loom is not sleyed as the plan says"
    in_reed = [end for dent in sorted(loom.dents) for end in sorted(loom.dents[dent])]
    if in_reed != list(range(1, len(case.threads) + 1)):
        yield "ends cross on their way to the reed"


def _parted(case: Case, dressing: Dressing, cut: int) -> Iterator[str]:
    """Look whether the halves part as near the middle as heddles, and dents, allow."""
    ends, is_reed_too = dressing.ends, case.table("loom").get("passes", "together") == "together"
    cuts = [
        at
        for at in range(1, len(ends))
        if ends[at - 1].place != ends[at].place
        and not (is_reed_too and ends[at - 1].dent == ends[at].dent)
    ]
    off = [abs(2 * at - len(ends)) for at in cuts]
    if (cut not in cuts or abs(2 * cut - len(ends)) > min(off)) if cuts else cut:
        yield "threading does not begin in the middle"


def _knotted(case: Case, dressing: Dressing) -> Iterator[str]:
    """Knot every end, and look whether any is left."""
    if {"heddles", "thread", "sley", "thread-and-sley"} & set(whole_job(dressing)):
        yield "a knotted warp is threaded"
    walked = stage(dressing, "knot")
    knots = [step.first_end for step in walked.steps if isinstance(step.content, Knot)]
    if knots != list(range(1, len(case.threads) + 1)):
        yield "not every end is knotted once"
    if sum(group.expected for group in walked.groups) != len(knots):
        yield "other knots are counted"


def _counted(walked: Stage) -> Iterator[str]:
    for group in walked.groups:
        steps = walked.steps_of(group)
        if walked.name == "sley":
            held = len({dent for step in steps for dent in step.dents})
        else:
            held = sum(step.ends for step in steps)
        if held != group.expected:
            yield f"group {group.number} of {walked.name} expects {group.expected}, not {held}"


def _whole_job(case: Case, dressing: Dressing) -> Iterator[str]:
    order, missing = whole_job(dressing), left_out(dressing)
    if set(order) & set(missing):
        yield "a stage is both done and left out"
    for name in order:
        yield from _OF_STAGE.get(name, _nothing)(case, stage(dressing, name))


def _nothing(_case: Case, _walked: Stage) -> Iterator[str]:
    return iter(())


def _wound(case: Case, walked: Stage) -> Iterator[str]:
    beam = walked.dressing.beam_number or 1
    own = [thread for thread in case.threads if thread.beam == beam]
    wound: list[int] = []
    for step in walked.steps:
        run = step.content
        if isinstance(run, AlikeRounds):
            here = {thread.colour for thread in own[run.first - 1 : run.last]} - {""}
            if here != set(run.colours):
                yield f"step {step.number} winds other colours"
            wound += range(run.first, run.last + 1)
    if wound != list(range(1, len(own) + 1)):
        yield "not every end is wound once"


def _in_sections(case: Case, walked: Stage) -> Iterator[str]:
    """Wind every section, and look what lies on the beam."""
    plan, yarns = walked.dressing.sections, walked.dressing.yarns
    steps = [step.content for step in walked.steps]
    wound = [step for step in steps if isinstance(step, Section)]
    held = [step.last - step.first + 1 for step in wound if not step.turns]
    turns = [step.turns for step in wound if step.turns]
    if plan is None or yarns is None or list(plan.counts) != held:
        yield "the sections do not hold the ends"
        return
    if "parts" not in case.table("reed"):
        inch = CM if metric(case) else 1
        each = sett(case) * Fraction(case.table("beam")["section_width"]) / inch
        yield from _one_order(held, each)
    around = Fraction(case.table("beam")["around"]) / (CM if metric(case) else 1)
    if any(not (number - 1) * around < yarns.length.total <= number * around for number in turns):
        yield "the turns are not those of the length"
    if sum(held) != len(case.threads):
        yield "the sections do not hold all ends"
    empty = (plan.empty_before or 0) + (plan.empty_after or 0)
    if plan.empty_before is not None and empty + len(held) != 100_000:
        yield "the sections are not centred"


def _beamed(case: Case, walked: Stage) -> Iterator[str]:
    turns = [
        turn
        for step in walked.steps
        if isinstance(step.content, Turns)
        for turn in range(step.content.first, step.content.last + 1)
    ]
    table, yarns = case.table("beam"), walked.dressing.yarns
    if not table or yarns is None:
        return
    around = Fraction(table["around"]) / (CM if metric(case) else 1)
    most = max(1, math.floor((yarns.wind - 12) / around))
    if turns != list(range(1, most + 1)):
        yield f"the beam is turned {len(turns)} times, not {most}"


def _tied_on(case: Case, walked: Stage) -> Iterator[str]:
    bouts = [step.content for step in walked.steps if isinstance(step.content, Bout)]
    held = sorted(end for bout in bouts for end in range(bout.first, bout.last + 1))
    if held != list(range(1, len(case.threads) + 1)):
        yield "not every end is tied on once"
    off = [abs(bout.first + bout.last - 1 - len(case.threads)) for bout in bouts]
    if any(later < before - 4 * max(b.ends for b in bouts) for before, later in pairwise(off)):
        yield "the bouts do not go from the centre outward"


_OF_STAGE: dict[StageName, Any] = {
    "wind": _wound,
    "wind-sections": _in_sections,
    "wind-second": _wound,
    "beam": _beamed,
    "beam-second": _beamed,
    "tie-on": _tied_on,
    "tie-on-rear": _tied_on,
}


def _levers(case: Case, dressing: Dressing) -> Iterator[str]:
    """Look what a loom without ties lifts, and what its bars make when they go round."""
    if case.table("loom").get("kind") not in {"table", "dobby"}:
        return
    if dressing.tie_up is not None or "tie-up" in whole_job(dressing):
        yield "a loom without treadles is tied up"
    threaded = {thread.shaft for thread in case.threads}
    wanted = [shed & threaded for shed in _sheds(case)]
    if [set(lift) & threaded for lift in dressing.draft.lifts] != wanted:
        yield "other shafts are lifted"
    if "peg" in whole_job(dressing):
        walked = stage(dressing, "peg")
        bars = [step.content.shafts for step in walked.steps if isinstance(step.content, Bar)]
        rounds = len(dressing.draft.lifts) // len(bars)
        if bars * rounds != list(dressing.draft.lifts):
            yield "the bars do not make the lift plan"
        if sum(group.expected for group in walked.groups) != sum(map(len, bars)):
            yield "other pegs are counted"


def _numbers(text: str, mark: str) -> set[int]:
    return {int(number) for number in text.split(mark) if number}


def _sheds(case: Case) -> Iterator[set[int]]:
    """Yield the shafts that stand up in each pick, as the tables say."""
    for part in case.tables.get("lifts", []):
        for _ in range(part["times"]):
            yield from (
                {int(shaft) for shaft in pick.split("+")} for pick in part["shafts"].split(", ")
            )
    tied = [
        {int(shaft) for shaft in text.split("-") if shaft}
        for text in case.table("tie_up").get("treadles", [])
    ]
    every = {thread.shaft for thread in case.threads}
    for part in case.tables.get("treadling", []):
        for _ in range(part["times"]):
            for pick in part["picks"].split(", "):
                marked = set().union(*(tied[int(treadle) - 1] for treadle in pick.split("+")))
                yield marked if case.table("tie_up")["shed"] == "rising" else every - marked


def _tied_up(case: Case, dressing: Dressing) -> Iterator[str]:
    """Press every pick on a loom tied as told, and look which shafts are up."""
    plan, table = dressing.tie_up, case.table("tie_up")
    if plan is None:
        return
    used = {thread.shaft for thread in case.threads}
    tied = [{int(shaft) for shaft in text.split("-") if shaft} for text in table["treadles"]]
    used = used.union(*tied)
    picks = [
        [int(treadle) for treadle in pick.split("+")]
        for part in case.tables["treadling"]
        for _ in range(part["times"])
        for pick in part["picks"].split(", ")
    ]
    wanted = []
    for pick in picks:
        marked = set().union(*(tied[treadle - 1] for treadle in pick))
        wanted.append(marked if table["shed"] == "rising" or not marked else used - marked)
    kind = case.table("loom").get("kind")
    if plan.way == "none":
        sheds = {
            frozenset(shed)
            for shed, pick in zip(wanted, picks, strict=True)
            if any(tied[t - 1] for t in pick)
        }
        if len(sheds) <= len(tied):
            yield "no ties are found where a treadle each would do"
        return
    for pick, shed, pressed in zip(picks, wanted, plan.picks, strict=True):
        if not any(tied[treadle - 1] for treadle in pick):
            continue
        up = set().union(*(plan.treadles[treadle - 1].up for treadle in pressed))
        down = set().union(*(plan.treadles[treadle - 1].down for treadle in pressed))
        rising = table["shed"] == "rising" if kind is None else kind != "counterbalance"
        stands = up if rising else used - down
        if stands != shed or (kind == "countermarch" and (up & down or up | down != used)):
            yield f"pick {pick} raises {sorted(stands)}, not {sorted(shed)}"


def _second_length(case: Case, second: Dressing, first: Fraction) -> Iterator[str]:
    """Look whether the second warp is longer where it takes up more."""
    table = case.table("second_beam")
    if second.yarns is None or "take_up" not in table:
        return
    kept = [
        1 - Fraction(each["take_up"].removesuffix(" %")) / 100
        for each in (case.table("length"), table)
    ]
    shorter = second.yarns.wind < first if kept[1] < kept[0] else second.yarns.wind > first
    if shorter:
        yield "the second warp is of another length"


def _long(case: Case, dressing: Dressing) -> Iterator[str]:
    table, yarns = case.table("length"), dressing.yarns
    if not table or yarns is None:
        return
    kept = [1 - Fraction(table[key].removesuffix(" %")) / 100 for key in ("shrinkage", "take_up")]
    each = Fraction(table["finished"] + 2 * table["hem"]) / kept[0] / kept[1]
    total = (
        each * table["pieces"]
        + 2 * table["pieces"] * table["fringe"]
        + (table["pieces"] - 1) * table["gap"]
        + table["sample"]
        + table["loom_waste"]
    ) / (CM if metric(case) else 1)
    step = 25 / CM if metric(case) else Fraction(9)
    if yarns.length.total != total or not 0 <= yarns.wind - total < step or yarns.wind % step:
        yield "the warp is of another length"
    ends = len(case.threads) + 2 * case.table("selvedges")["floating"]
    metres = sum(
        (warp.yarns.wind * len(warp.ends) for warp in dressing.warps or (dressing,) if warp.yarns),
        yarns.wind * (ends - len(case.threads)),
    ) * Fraction(254, 10000)
    if sum(need.need.metres for need in yarns.needs) != metres:
        yield "yarn is reckoned for another length"
    if dressing.warps:
        yield from _second_length(case, dressing.warps[1], yarns.wind)
    if sum(yarns.ends.values()) != ends or sum(need.threads for need in yarns.needs) != ends:
        yield "yarn is reckoned for other ends"


JUDGES = (
    _ends,
    _in_reed,
    _heddles,
    _in_raddle,
    _groups,
    _passes,
    _whole_job,
    _levers,
    _tied_up,
    _long,
)
