"""What is said when a stage begins: what must be known, from which edge, seen from where.

Three tellings: all of it; what somebody new needs to begin; and in one breath what differs from
plan to plan, and what cannot be made good, for somebody who knows the work.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Final

from companion.base.text import capital, counted, sentence
from companion.job import left_out
from companion.job.contents import Waste
from companion.plan.draft.ends import CM_PER_INCH
from companion.wording import weaving
from companion.wording.beams import own_beam, own_warp, two_crosses, two_tensions
from companion.wording.knots import knots_opening
from companion.wording.moves import moves_opening
from companion.wording.notes import warp_left
from companion.wording.regions import first_region
from companion.wording.sections import sections_opening
from companion.wording.stages import LEFT_OUT, title

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from fractions import Fraction

    from companion.guide.messages import Opening
    from companion.job import Stage, StageName
    from companion.loom.dressing import Dressing, RaddlePlan
    from companion.loom.tie_up import TieUpPlan

_LOOM_KINDS: Final = {
    "jack": "On a jack loom a tie raises its shaft.",
    "counterbalance": "On a counterbalance loom a tie lowers its shaft.",
    # Upper lamms sink and lower ones raise: leighsfiberjournal.blogspot.com, May 2024.
    "countermarch": (
        "On a countermarch loom shafts are tied both ways: those told as up to the lower, longer "
        "lamms, those told as down to the upper, shorter ones."
    ),
}


_PASSES: Final = frozenset({"thread", "sley", "thread-and-sley"})
"""Told in one breath with what they are called."""
_SECOND: Final = 2
"""The beam whose warp has no floating selvedges."""


def begun(stage: Stage, telling: Opening) -> str:
    """Return what a stage is called, and the sentences that it begins with."""
    is_one_breath = telling == "brief" and stage.name in _PASSES
    called = capital(title(stage)) if is_one_breath else sentence(title(stage))
    return f"{called} {opening(stage, telling)}"


def opening(stage: Stage, telling: Opening = "whole") -> str:
    """Return the sentences that a stage begins with; right and left name where they are seen."""
    return " ".join(_OPENINGS[stage.name](stage, telling))


def _wind(stage: Stage, telling: Opening) -> Iterator[str]:
    dressing = stage.dressing
    yield from own_warp(dressing)
    yield (
        _wound_edge(dressing)
        if telling == "brief"
        else (
            f"End 1 will lie at the {dressing.first_end} edge, seen from the front of the loom. "
            "Lay the cross at every end, and tie off each group at the counting cross."
        )
    )
    if dressing.wound_together > 1:
        make = "" if telling == "brief" else ": make the cross with them together"
        yield f"{dressing.wound_together} ends are wound at once, and cross as one{make}."
    if dressing.yarns is not None:
        yield f"Every end is to be {_length(dressing, dressing.yarns.wind)} long."
    if dressing.sley.floating and dressing.beam_number < _SECOND:
        edges = counted(2 * dressing.sley.floating, "floating selvedge end")
        yield f"The {edges} come on top, and are wound apart."


def _wound_edge(dressing: Dressing) -> str:
    return f"End 1 will lie at the {dressing.first_end} edge."


def _length(dressing: Dressing, inches: Fraction) -> str:
    """Return a length in whole units that is not too short, as it is spoken."""
    if dressing.units == "metric":
        return counted(ceil(inches * CM_PER_INCH), "centimetre")
    return counted(ceil(inches), "inch")


def _raddle(stage: Stage, telling: Opening) -> Iterator[str]:
    dressing, plan = stage.dressing, stage.dressing.raddle
    yield from own_warp(dressing)
    yield "Tie the lease sticks to each other first; only then cut the ties of the cross."
    yield from _start_at_edge(dressing, telling, is_behind=True)
    if plan is not None:
        yield _first_section(dressing, plan, telling)
    if telling != "whole":
        return
    if dressing.wound_together > 1:
        yield (
            f"The {dressing.wound_together} ends that were wound together stay together: a section "
            "takes whole bundles of them."
        )
    if plan is not None:
        yield from _loops(plan)
    yield "A wrong number in a section does little harm here: it is told, and the walk goes on."


def _first_section(dressing: Dressing, plan: RaddlePlan, telling: Opening) -> str:
    if plan.empty_before is None:
        half = counted(plan.middle, "section")
        return f"Begin {half} before the centre of the raddle, on the side of that edge."
    if not plan.empty_before:
        return "Section 1 is the raddle's own first section at that edge."
    if telling != "whole":
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
        yield "The ends are odd in all, so one of them is without a loop: tie it to the rod."


def _beam(stage: Stage, telling: Opening) -> Iterator[str]:
    dressing = stage.dressing
    why = left_out(dressing).get("raddle")
    yield from own_beam(dressing)
    if why is not None:
        yield LEFT_OUT[why]
    if dressing.beam is not None:
        yield f"The beam takes {counted(dressing.beam.most_turns, 'turn')} at most."
    if dressing.beam is not None and telling != "brief":
        yield (
            f"Leave off sooner, when only {warp_left(dressing)} are left, and confirm the turns "
            "that you do not need."
        )
    if telling != "brief":
        yield "Hold all of the warp equally tight; shake a tangle out, and never force it."


def _moves(stage: Stage, telling: Opening) -> Iterator[str]:
    yield from moves_opening(is_brief=telling == "brief")
    yield _shaft_one(stage.dressing, telling)


def _heddles(stage: Stage, telling: Opening) -> Iterator[str]:
    if telling != "brief":
        yield "Push the heddles apart, so that the warp passes through the middle."
        yield "Set apart on each shaft just as many as are told, and push the others to the sides."
    yield _shaft_one(stage.dressing, telling)


def _pass(stage: Stage, telling: Opening) -> Iterator[str]:
    """Yield from which edge, seen from where, and in which dent to start."""
    dressing, name = stage.dressing, stage.name
    is_behind = dressing.method == "front-to-back" and name != "sley"
    if telling == "brief":
        yield ", ".join(_in_one_breath(dressing, name, is_behind=is_behind)) + "."
    else:
        yield from _start_at_edge(dressing, telling, is_behind=is_behind)
    if name != "thread" and telling != "brief":
        yield from _first_dent(dressing, telling)
    if name != "thread":
        yield from first_region(dressing, is_brief=telling == "brief")
    if telling == "whole":
        yield from _floating(dressing.sley.floating, name)
    if name != "sley":
        yield from two_crosses(dressing)
        if telling != "brief":
            yield _shaft_one(dressing, telling)


def _in_one_breath(dressing: Dressing, name: StageName, *, is_behind: bool) -> Iterator[str]:
    """Yield what must be known to begin a pass, to follow what it is called."""
    empty = dressing.sley.empty_before
    yield f"from the {dressing.first_end} edge"
    if is_behind:
        yield f"on your {dressing.last_edge} behind the loom"
    if name != "thread":
        yield f"{counted(empty, 'dent')} empty" if empty else "in the reed's own first dent"
    if name != "sley":
        yield f"shaft 1 {'in front' if dressing.shaft_one == 'front' else 'at the rear'}"


def _start_at_edge(dressing: Dressing, telling: Opening, *, is_behind: bool) -> Iterator[str]:
    """Yield from which edge to work; behind the loom the sides are exchanged."""
    near, far = dressing.first_end, dressing.last_edge
    if telling == "brief":
        yield f"From the {near} edge{f', on your {far} behind the loom' if is_behind else ''}."
        return
    if telling == "first":
        behind = f": behind the loom, on your {far}" if is_behind else ""
        yield f"Start at the {near} edge, seen from the front{behind}."
        return
    yield f"Start at the {near} edge, seen from the front of the loom, and work towards the {far}."
    if is_behind:
        yield (
            f"Seen from behind the loom, at the warp beam, that is the {far} edge, "
            f"and the work goes towards the {near}."
        )


def _first_dent(dressing: Dressing, telling: Opening) -> Iterator[str]:
    sley = dressing.sley
    if not sley.empty_before:
        yield "Dent 1 is the reed's own first dent at that edge."
    elif telling == "whole":
        yield (
            f"Dent 1 is dent {sley.first_dent} of the reed, counted from its {dressing.first_end} "
            f"end, seen from the front of the loom: leave {sley.empty_before} empty."
        )
    else:
        yield f"Leave {counted(sley.empty_before, 'dent')} empty there."


def _floating(number: int, name: StageName) -> Iterator[str]:
    if number and name == "thread":
        yield "Leave the floating selvedge at each edge out of the heddles."
    elif number:
        what = "A floating selvedge comes" if number == 1 else f"{number} floating selvedges come"
        yield f"{what} first and the same last: one to a dent, and in none of the heddles."


def _shaft_one(dressing: Dressing, telling: Opening) -> str:
    is_front = dressing.shaft_one == "front"
    if telling == "brief":
        return f"Shaft 1 is {'in front' if is_front else 'at the rear'}."
    said = f"Shaft 1 is the {'front' if is_front else 'rear'} shaft"
    nearest = f", nearest the {'breast' if is_front else 'warp'} beam"
    return f"{said}{nearest if telling == 'whole' else ''}."


def _tie_on(stage: Stage, telling: Opening) -> Iterator[str]:
    is_rear = stage.name == "tie-on-rear"
    if telling != "brief":
        yield "Divide each bout in two, and take the halves around the rod from beneath."
        if is_rear:
            yield "Knot them over the bout, all at the same length."
        else:
            yield "Tie them over the bout with the first half of a bow."
    seen = "behind the loom" if is_rear else "the front of the loom"
    yield f"Begin at the centre and go outward, right and left by turns, seen from {seen}."
    yield from two_tensions(stage.dressing)
    if telling != "brief" and stage.dressing.sley.floating:
        yield "The floating selvedge at each edge is tied on, or weighted, by itself."


def _tie_up(stage: Stage, telling: Opening) -> Iterator[str]:
    dressing, plan = stage.dressing, stage.dressing.tie_up
    moves = "rise" if dressing.draft.is_rising_shed else "sink"
    yield f"The plan's tie-up marks the shafts that {moves}."
    if dressing.loom_kind is not None and telling != "brief":
        yield _LOOM_KINDS[dressing.loom_kind]
    yield from _ways(plan, telling) if plan else ()
    if telling != "brief":
        yield "Begin with treadle 1 at the side you are used to; the plan does not say."
    yield _shaft_one(dressing, telling)


def _peg(stage: Stage, telling: Opening) -> Iterator[str]:
    bars, picks = len(stage.steps), len(stage.dressing.draft.lifts)
    yield f"{counted(bars, 'bar')}, one for each pick; each peg raises its shaft."
    if picks > bars and telling != "brief":
        yield f"They go round {picks // bars} times."
    if telling == "whole":
        yield "Bar 1 is woven first."


def _ways(plan: TieUpPlan, telling: Opening) -> Iterator[str]:
    """Yield how the ties differ from what the plan marks."""
    if plan.way == "others":
        yield "So the shafts told are not those marked, but the others."
    if plan.way == "a-shed-each":
        yield (
            "Each shed has a treadle of its own."
            if telling == "brief"
            else (
                "Treadles pressed together would make other sheds on this loom, so each shed has a "
                "treadle of its own, and one treadle is pressed for each pick."
            )
        )
    elif plan.has_gaps:
        yield "Some treadles are pressed together, so shafts are left untied on purpose."


def _first_picks(stage: Stage, telling: Opening) -> Iterator[str]:
    missing = left_out(stage.dressing)
    why = missing.get("tie-up") or missing.get("peg")
    if why is not None:
        yield LEFT_OUT[why]
    if telling == "brief":
        yield "Look through each shed from the side, or feel for an end in between."
        return
    waste = (step.content for step in stage.steps if isinstance(step.content, Waste))
    if any(each.way == "sheds" for each in waste):
        yield "In this threading two sheds set every end against its neighbours."
    else:
        yield (
            "In this threading there are not two sheds that set every end against its "
            "neighbours, so each shaft is raised alone."
        )
    yield "Look through each shed from the side, or feel with a flat hand for an end in between."
    yield "Last come the faults and what each means: confirm every one that you do not find."


_OPENINGS: Final[dict[StageName, Callable[[Stage, Opening], Iterator[str]]]] = {
    "wind": _wind,
    "wind-second": _wind,
    "knot": lambda stage, telling: knots_opening(stage.dressing, is_brief=telling == "brief"),
    "wind-sections": lambda stage, telling: sections_opening(
        stage.dressing, is_brief=telling == "brief"
    ),
    "raddle": _raddle,
    "raddle-second": _raddle,
    "beam": _beam,
    "beam-second": _beam,
    "move-heddles": _moves,
    "heddles": _heddles,
    "thread-and-sley": _pass,
    "thread": _pass,
    "sley": _pass,
    "tie-on-rear": _tie_on,
    "tie-on": _tie_on,
    "tie-up": _tie_up,
    "peg": _peg,
    "first-picks": _first_picks,
    "weave": weaving.opening,
}
