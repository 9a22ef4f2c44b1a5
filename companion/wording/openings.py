"""What is said when a stage begins: what must be known, from which edge, seen from where.

Three tellings: all of it; what somebody new needs to begin; and, in `brief`, one breath for
somebody who knows the work.
"""

from collections.abc import Callable, Iterator
from typing import Final

from companion.base.text import counted, sentence
from companion.guide.messages import Opening
from companion.job import Stage, StageName, left_out
from companion.job.contents import Waste
from companion.loom.dressing import Dressing, RaddlePlan
from companion.loom.tie_up import TieUpPlan
from companion.wording import weaving
from companion.wording.brief import in_one_breath
from companion.wording.notes import has_floating
from companion.wording.stages import LEFT_OUT, title
from companion.wording.ways import (
    first_dent_at_centre,
    first_region,
    is_from_centre,
    order_told,
    own_beam,
    own_warp,
    sections_opening,
    start_at_centre,
    two_crosses,
    two_tensions,
    warp_left,
)

_LOOM_KINDS: Final = {
    "jack": "On a jack loom a tie raises its shaft.",
    "counterbalance": "On a counterbalance loom a tie lowers its shaft.",
    # Upper lamms sink and lower ones raise: leighsfiberjournal.blogspot.com, May 2024.
    "countermarch": "For up, tie to the lower, longer lamms; for down, to the upper, shorter ones.",
}


def begun(stage: Stage, telling: Opening) -> str:
    """Return what a stage is called, and the sentences that it begins with."""
    is_again = telling == "first" and stage.dressing.beam_number > 1
    if telling == "brief" or is_again:  # the second warp comes after the first
        return in_one_breath(stage)
    return f"{sentence(title(stage))} {opening(stage, is_whole=telling == 'whole')}"


def opening(stage: Stage, *, is_whole: bool = True) -> str:
    """Return the sentences that a stage begins with, all or what somebody new needs to begin.

    Right and left name where they are seen.
    """
    return " ".join(_OPENINGS[stage.work](stage, is_whole=is_whole))


def _wind(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    dressing = stage.dressing
    yield from own_warp(dressing, is_whole=is_whole)
    loom = " of the loom" if is_whole else ""
    yield f"End 1 lies at the {dressing.first_end} edge, seen from the front{loom}."
    yield "Lay the cross at every end, and tie off each group at the counting cross."
    if dressing.wound_together > 1:
        yield (
            f"Wind {dressing.wound_together} ends at once, and take them through the cross as one."
        )
    if dressing.yarns is not None:
        yield f"Wind every end {weaving.whole_length(dressing.yarns.wind, dressing)} long."
    if is_whole and has_floating(dressing):
        edges = counted(2 * dressing.sley.floating, "floating selvedge end")
        yield f"The {edges} come on top, and are wound apart."


def _raddle(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    dressing, plan = stage.dressing, stage.dressing.raddle
    yield from own_warp(dressing, is_whole=is_whole)
    yield "First tie the lease sticks together; only then cut the ties of the cross."
    yield from _start_at_edge(dressing, is_whole=is_whole, is_behind=True)
    if plan is not None:
        yield _first_section(dressing, plan, is_whole=is_whole)
    if not is_whole:
        return
    if dressing.wound_together > 1:
        yield f"The {dressing.wound_together} ends of a round stay together in one section."
    if plan is not None:
        yield from _loops(plan)


def _first_section(dressing: Dressing, plan: RaddlePlan, *, is_whole: bool) -> str:
    if plan.empty_before is None:
        half = counted(plan.half, "section")
        return f"Begin {half} before the centre of the raddle, on the side of that edge."
    if not plan.empty_before:
        return "Section 1 is the raddle's own first section at that edge."
    if not is_whole:
        return f"Leave {counted(plan.empty_before, 'section')} empty there."
    return (
        f"Section 1 is section {plan.empty_before + 1} of the raddle, counted from its "
        f"{dressing.first_end} end, seen from the front of the loom: leave {plan.empty_before} "
        "empty."
    )


def _loops(plan: RaddlePlan) -> Iterator[str]:
    """Yield what odd numbers mean for ends that hang in uncut loops, two to a loop."""
    if any(count % 2 for count in plan.counts[:-1]):
        yield (
            "If a section takes an odd number, the two ends of one loop go into neighbouring "
            "sections, and the loop stays whole on its rod."
        )
    if sum(plan.counts) % 2:
        yield "The number of ends is odd, so one of them is without a loop: tie it to the rod."


def _beam(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    dressing = stage.dressing
    why = left_out(dressing).get("raddle")
    yield from own_beam(dressing)
    if why is not None:
        yield LEFT_OUT[why]
    if dressing.beam is not None:
        yield f"At most {counted(dressing.beam.most_turns, 'turn')} go on the beam."
    if dressing.beam is not None and is_whole:
        yield (
            f"Stop sooner, when only {warp_left(dressing)} are left, and confirm the turns you do "
            "not need."
        )
    yield "Hold all of the warp equally tight; shake a tangle out, and never force it."


def _knot(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    """Yield where to sit, where to begin, and how an end is knotted."""
    dressing, loom = stage.dressing, " of the loom" if is_whole else ""
    where = "in front of the reed" if dressing.method == "front-to-back" else "behind the heddles"
    yield f"Knot each new end to the old end in its place, {where}."
    begin = f"Begin at the {dressing.first_end} edge, seen from the front{loom}"
    yield f"{begin}; take both from the cross."
    held = "The old warp must be tied in its heddles or held by lease sticks"
    yield f"{held}; keep both tight." if is_whole else f"{held}."
    if dressing.sley.floating:
        yield "The floating selvedges are knotted by themselves."


def _moves(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    # Sliding them across, all the same way up, is common practice, no source.
    yield (
        "Some shafts have too few heddles: slide them over on a stick or a cord, all the same way "
        "up, and close the bars again before the next."
    )
    yield _shaft_one(stage.dressing, is_whole=is_whole)


def _heddles(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    if is_whole:
        yield "Push the heddles apart, so that the warp passes through the middle."
    yield "Set apart on each shaft the number told, and push the others to the sides."
    loom = " of the loom" if is_whole else ""
    yield f"Right and left are counted from the centre, seen from the front{loom}."
    yield _shaft_one(stage.dressing, is_whole=is_whole)


def _pass(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    """Yield from which edge, seen from where, and in which dent to start."""
    dressing, name = stage.dressing, stage.name
    is_behind = dressing.method == "front-to-back" and name != "sley"
    yield from _start_at_edge(dressing, is_whole=is_whole, is_behind=is_behind)
    if name != "thread":
        yield from _first_dent(dressing, is_whole=is_whole)
        yield from first_region(dressing, is_whole=is_whole)
    if is_whole:
        yield from _floating(dressing, name)
    if name != "sley":
        yield from order_told(dressing, is_whole=is_whole)
        yield from two_crosses(dressing, is_whole=is_whole)
        yield _shaft_one(dressing, is_whole=is_whole)


def _start_at_edge(dressing: Dressing, *, is_whole: bool, is_behind: bool) -> Iterator[str]:
    """Yield from which edge to work; behind the loom the sides are exchanged."""
    near, far = dressing.first_end, dressing.last_edge
    if is_from_centre(dressing):
        yield start_at_centre(dressing, is_whole=is_whole, is_behind=is_behind)
        return
    if not is_whole:
        behind = f": behind the loom, on your {far}" if is_behind else ""
        yield f"Start at the {near} edge, seen from the front{behind}."
        return
    yield f"Start at the {near} edge, seen from the front of the loom, and work towards the {far}."
    if is_behind:
        yield (
            f"Seen from behind the loom, at the warp beam, that is the {far} edge, "
            f"and the work goes towards the {near}."
        )


def _first_dent(dressing: Dressing, *, is_whole: bool) -> Iterator[str]:
    sley = dressing.sley
    if is_from_centre(dressing):
        yield first_dent_at_centre(dressing, is_whole=is_whole)
    elif not sley.empty_before:
        yield "Dent 1 is the reed's own first dent at that edge."
    elif is_whole:
        yield (
            f"Dent 1 is dent {sley.first_dent} of the reed, counted from its {dressing.first_end} "
            f"end, seen from the front of the loom: leave {sley.empty_before} empty."
        )
    else:
        yield f"Leave {counted(sley.empty_before, 'dent')} empty there."


def _floating(dressing: Dressing, name: StageName) -> Iterator[str]:
    number = dressing.sley.floating
    if number and name == "thread":
        yield "Leave the floating selvedge at each edge out of the heddles."
    elif number:
        what = "A floating selvedge comes" if number == 1 else f"{number} floating selvedges come"
        another = "another" if number == 1 else number
        where = "last at each edge" if is_from_centre(dressing) else f"first and {another} last"
        yield f"{what} {where}: one to a dent, and in no heddle."


def _shaft_one(dressing: Dressing, *, is_whole: bool) -> str:
    is_front = dressing.shaft_one == "front"
    nearest = f", nearest the {'breast' if is_front else 'warp'} beam" if is_whole else ""
    return f"Shaft 1 is the {'front' if is_front else 'rear'} shaft{nearest}."


def _tie_on(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    is_rear = stage.name == "tie-on-rear"
    tie = "knot them over the bout, all at the same length"
    if not is_rear:
        tie = "tie them over the bout with the first half of a bow"
    yield f"Halve each bout, take the halves around the rod from beneath, and {tie}."
    seen = f", seen from {'behind' if is_rear else 'the front of'} the loom"
    by_turns = f", right and left by turns{seen}" if is_whole or is_rear else ""
    yield f"Begin at the centre and go outward{by_turns}."
    yield from two_tensions(stage.dressing)
    if is_whole and stage.dressing.sley.floating:
        yield "The floating selvedge at each edge is tied on, or weighted, by itself."


def _tie_up(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    dressing, plan = stage.dressing, stage.dressing.tie_up
    moves = "rise" if dressing.draft.is_rising_shed else "sink"
    if is_whole or (plan is not None and plan.way == "others"):
        yield f"The plan's tie-up marks the shafts that {moves}."
    if dressing.loom_kind is not None:
        yield _LOOM_KINDS[dressing.loom_kind]
    if plan is not None:
        yield from _ways(plan, is_whole=is_whole)
    yield "Begin with treadle 1 at the side you are used to."
    yield _shaft_one(dressing, is_whole=is_whole)


def _peg(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    bars, picks = len(stage.steps), len(stage.dressing.draft.lifts)
    yield f"{counted(bars, 'bar')}, one for each pick; each peg raises its shaft."
    if picks > bars:
        yield f"They go round {picks // bars} times."
    if is_whole:
        yield "Bar 1 is woven first."


def _ways(plan: TieUpPlan, *, is_whole: bool) -> Iterator[str]:
    if plan.way == "others":
        yield "So the shafts told are not those marked, but the others."
    if plan.way == "a-shed-each" and is_whole:
        yield (
            "Treadles pressed together would make other sheds on this loom, so each shed has a "
            "treadle of its own, and one treadle is pressed for each pick."
        )
    elif plan.way == "a-shed-each":
        yield "Each shed has a treadle of its own."
    elif plan.has_gaps:
        yield "Some treadles are pressed together, so shafts are left untied on purpose."


def _first_picks(stage: Stage, *, is_whole: bool) -> Iterator[str]:
    missing = left_out(stage.dressing)
    why = missing.get("tie-up") or missing.get("peg")
    if why is not None:
        yield LEFT_OUT[why]
    waste = (step.content for step in stage.steps if isinstance(step.content, Waste))
    if is_whole and any(each.way == "sheds" for each in waste):
        yield "In this threading two sheds set every end against its neighbours."
    elif is_whole:
        yield (
            "In this threading there are not two sheds that set every end against its "
            "neighbours, so each shaft is raised alone."
        )
    yield "Look through each shed from the side, or feel with a flat hand for an end in between."
    if is_whole:
        yield "Last come the faults and what each means: confirm each that you do not find."


_OPENINGS: Final[dict[StageName, Callable[..., Iterator[str]]]] = {
    "wind": _wind,
    "knot": _knot,
    "wind-sections": lambda stage, *, is_whole: sections_opening(stage.dressing, is_whole=is_whole),
    "raddle": _raddle,
    "beam": _beam,
    "move-heddles": _moves,
    "heddles": _heddles,
    "thread-and-sley": _pass,
    "thread": _pass,
    "sley": _pass,
    "tie-on": _tie_on,
    "tie-up": _tie_up,
    "peg": _peg,
    "first-picks": _first_picks,
    "weave": weaving.opening,
}
