"""The wording of what is walked otherwise than it was begun: more stages, or another plan."""

from collections.abc import Iterator, Sequence
from typing import Final

from companion.base.text import capital, counted, listed, span
from companion.command import Kind
from companion.guide.events import PlanChanged
from companion.guide.messages import EdgeQuestion, PlanQuestion
from companion.guide.terms import MENDED, OTHER_REED, SHORTER, Way
from companion.job import PASSES, Noun, StageName
from companion.wording.choices import yes_or_no
from companion.wording.stages import TITLES
from companion.wording.voice import Style


def counted_as_done(names: Sequence[StageName]) -> str:
    """Return what is said of stages that the work begun shows to be done."""
    return f"Taken as done: {titles(names)}."


def plan_question(message: PlanQuestion, style: Style) -> str:
    """Return what is new in the plan, and the question whether to undo what is done for it."""
    stage, first = message.stage, message.first
    if message.why == MENDED:
        told = f"{_other_shafts(message.ends)} in the new plan."
        each = "it where it is" if len(message.ends) == 1 else "them where they are"
        return f"{told} Mend {each}, and keep your place? {yes_or_no(style, other=Kind.MEND)}"
    new = _new_from(stage.item, first, message.why)
    undone = f"{_undone(stage.name, stage.item, first, message.last)} and follow it?"
    if message.ends:
        undone = f"{_sleyed_anew(first, message.ends[0], message.last)} and follow it?"
    return f"{new} {undone} {yes_or_no(style)}"


def edge_question(message: EdgeQuestion, style: Style) -> str:
    """Return what it means that the work was begun at the other edge, and one way to go on."""
    stage = message.stage
    planned, other = stage.dressing.first_end, stage.dressing.last_edge
    answer = yes_or_no(style, other=None if message.way is Way.ANEW else Kind.WRONG_EDGE)
    if message.way is Way.ANEW:
        undone = _undone(stage.name, stage.item, 1, max(1, message.last))
        return f"{undone} and begin again at the {planned} edge? {answer}"
    if message.way is Way.EDGE:
        told = f"Begun at the {other} edge, the cloth comes out mirrored, but otherwise as planned."
    else:
        told = f"What is done fits from there too, with the order turned: end 1 at the {other}."
    return f"{told} Go on like that? {answer}"


def plan_changed(event: PlanChanged) -> Iterator[str]:
    """Yield what is new in the plan that is walked from here on, and what becomes of the place."""
    if event.way is not None:
        cloth = "as planned" if event.way is Way.ORDER else "mirrored"
        yield f"End 1 is at the {event.edge} edge from here on, and the cloth comes out {cloth}."
        return
    yield _next(event)
    if event.ends != (0, 0):
        before, now = event.ends
        yield f"It has {counted(now, 'end')} now, not {before}."
    if event.off_centre:
        dents = counted(event.off_centre, "dent")
        yield f"Your first dent stays, so the warp lies {dents} off the centre."
    if event.stands:
        stay = "stays" if len(event.stands) == 1 else "stay"
        yield f"{capital(titles(event.stands))} {stay} as before."
    if event.left_out:
        yield f"Left out now: {titles(event.left_out)}."
    if event.added:
        yield f"New in it: {titles(event.added)}."
    if not (_what_is_new(event) or event.stands or event.left_out or event.added):
        yield "The plan file has changed; the work is the same."


def _next(event: PlanChanged) -> str:
    """Return what is to be done for the new plan first, or what is new and that nothing is."""
    if event.mended:
        return f"{_other_shafts(event.mended)} in the new plan: mend that, then go on."
    if event.threaded:
        too = f", and {span('end', event.threaded + 1, event.last)} out of the heddles too"
        how = too if event.threaded < event.last else " alone"
        return f"Pull {span('end', event.first, event.last)} out of the reed{how}, then go on."
    if event.last and event.where:
        return f"{_undone(event.where, event.item, event.first, event.last)}, then go on."
    new = _what_is_new(event)
    return f"{new} You keep your place." if new and event.where else new


def _what_is_new(event: PlanChanged) -> str:
    if event.first:
        return _new_from(event.item, event.first, event.why)
    if event.is_regrouped:
        return "The groups are new."
    is_told = not event.later or event.left_out or event.added
    return "" if is_told else f"New in the plan: {titles(event.later)}."


def _new_from(item: Noun, first: int, why: str) -> str:
    if why == OTHER_REED:
        return "The plan has another reed."
    if why == SHORTER:
        return f"The plan ends with {item} {first - 1} now."
    return f"The plan is new from {item} {first} on."


def _other_shafts(ends: Sequence[int]) -> str:
    if len(ends) == 1:
        return f"End {ends[0]} is on another shaft"
    if len(ends) > _MOST_NAMED:
        return f"{len(ends)} ends from end {ends[0]} to end {ends[-1]} are on other shafts"
    return f"Ends {listed(ends)} are on other shafts"


_MOST_NAMED: Final = 4
"""Ends named at once, as many as are kept in mind. Our own choice."""


def _undone(name: StageName, item: Noun, first: int, last: int) -> str:
    what = span(item, first, last)
    return f"Pull {what} out" if name in PASSES else f"Undo {what}"


def _sleyed_anew(first: int, threaded: int, last: int) -> str:
    """Return which ends stay in their heddles, and which others are pulled out of them too."""
    ends = span("end", first, threaded)
    it, its = ("it", "its heddle") if first == threaded else ("them", "their heddles")
    if threaded >= last:
        return f"Leave {ends} in {its}, sley {it} anew"
    rest = span("end", threaded + 1, last)
    return f"Leave {ends} in {its}, sley {it} anew, thread {rest} anew"


def titles(names: Sequence[StageName]) -> str:
    """Return stages by what they are called."""
    return listed([TITLES[name] for name in names])
