"""What is said and shown of the looms of a studio."""

from collections.abc import Callable, Sequence
from typing import Final

from companion.base.text import capital, counted, listed
from companion.guide.messages import Mode
from companion.guide.place import expected_so_far, present_group
from companion.guide.state import State
from companion.job import Stage
from companion.wording.stages import group_title, title

NO_WALK: Final = "Nothing is walked at this loom yet."
PLAN_FAULT: Final = "The plan file cannot be used now. Go on as before, and ask your teacher."
"""Told at a loom; why, and what to do, stands on the teacher's page."""


def place(state: State, stage: Stage) -> str:
    """Return where a walk is, "threading, end 37 of 120"."""
    done = state.confirmed
    if done == 0:
        return f"{title(stage)}, not begun"
    if stage.item != "end":
        return f"{title(stage)}, step {done} of {len(stage.steps)}"
    return f"{title(stage)}, end {stage.steps[done - 1].last_end} of {stage.last_number}"


def why_held(state: State, stage: Stage) -> str:
    """Return the count that does not fit, "7 of 8", or else what does not; "" for nothing."""
    if state.base is not Mode.HELD or state.count is None:
        return ""
    planned = expected_so_far(state, stage)
    return "felt not as planned" if state.count == planned else f"{state.count} of {planned}"


def held(loom: str, why: str) -> str:
    """Return what is said when a loom is held, "Loom 3 is held: 7 of 8."."""
    return f"{capital(loom)} is held{f': {why}' if why else ''}."


def _begun(sentence: str) -> Callable[..., str]:
    """Return what fills a sentence that begins with the name of a loom, session or server."""
    return lambda name, *more: sentence.format(capital(name), *more)


in_doubt = _begun("{}: something is wrong, and is being counted.")
goes_on = _begun("{} goes on.")
finished = _begun("{}: {} is complete.")
fault = _begun("{}: {}")


def group_of(state: State, stage: Stage) -> str:
    """Return the group that is ahead, "group 2 of 15, pattern 2"."""
    return group_title(present_group(state, stage), stage)


def roll_call(troubles: Sequence[str], going: int, resting: int, complete: int) -> str:
    """Return what is said of all looms at once: those in trouble, then how the others are."""
    hows = (
        (going, "goes on", "go on"),
        (resting, "rests", "rest"),
        (complete, "is complete", "are complete"),
    )
    others = [
        f"{counted(number, 'loom')} {one if number == 1 else many}"
        for number, one, many in hows
        if number
    ]
    told = [*troubles, f"{listed(others)}."] if others else troubles
    return " ".join(told) or "No loom is being walked."


def people(names: Sequence[str]) -> str:
    """Return the names of weavers; "nobody named" where there is none."""
    return listed([name for name in names if name]) or "nobody named"


OTHER_SERVERS: Final = "How the looms of other servers stand now"
NOT_REACHED: Final = (
    "The school's record is not reached, so what was done at other servers is missing here."
)
SHARED_AWAY: Final = (
    "The school's record is not reached. Every walk goes on here, and is sent when it is back."
)
SHARED_BACK: Final = "The school's record is reached again."

done_there = "{} Done at {}.".format


refused_there = _begun("{} did not do it: {}")
not_taken_there = _begun("{} does not answer, so this was not done.")
not_answered_there = _begun("{} was asked, but does not tell whether it is done. Look at the loom.")
only_there = "That can be done at {} alone.".format
asked_for = "{} Asked for at {}.".format
walked_elsewhere = "This session is walked on {}. End the walk there first.".format
not_given_back = (
    "{} has not given this session back, and is not heard from: what was done there since "
    "may be missing. Tick the box to take it up all the same."
).format
parted_here = (
    "{} was gone on with here and elsewhere, so nothing was changed. Go on with one of them; "
    "both are kept."
).format
parted = _begun("{} was gone on with on another server too. Both are kept.")
taken_elsewhere = _begun("{}: its session was taken up on {}, so the walk here ends.")
