"""The wording of what the session itself has to say, outside the guide's messages."""

from collections.abc import Mapping, Sequence
from typing import Final

from companion.command import Kind, spoken_form

place_kept = "The commands have ended. Your place is kept in {}.".format
all_done = "Everything this session was begun for is complete. Its record is {}.".format
interrupted = "Interrupted. Your place is kept in {}.".format
CUT_OFF: Final = (
    "This record was copied during a walk, or its log was lost. The last steps may be missing. "
    "Say where am I, and check it at the loom."
)
PLAN_SAME: Final = "The plan is as it was."


def kept_for_next(wishes: Mapping[str, str], weaver: str) -> str:
    """Return what is printed of settings that were changed during the walk."""
    named = (f"{_NAMES[key]} {value}" for key, value in wishes.items())
    whose = f" of {weaver}" if weaver else ""
    return f"Kept for the next walk{whose}: {', '.join(named)}."


_NAMES: Final = {
    "speech.words_per_minute": "words a minute",
    "walk.step": "step",
    "walk.detail": "detail",
}

not_kept = "Not taken. {}".format


def not_read(unread: Sequence[str]) -> str:
    """Return what is told where sessions that cannot be read are passed over."""
    return f"Not read: {', '.join(unread)}; `companion sessions` says why."


def begun_anew(unread: Sequence[str]) -> str:
    """Return the same where no session of the plan was found beside them."""
    return f"Beginning anew. {not_read(unread)}"


plan_gone = "{} is not there any more; going on with the plan kept in the session.".format
plan_unread = (
    "{0} has changed and cannot be walked as it is; going on with the plan kept in the "
    "session. Type companion check {0} to see what is wrong."
).format


def plan_left(language: str) -> str:
    """Return what is told where the weaver goes on with the plan as it was."""
    form = spoken_form(Kind.NEW_PLAN, language)
    return f'The plan file has changed; going on with the plan as it was. Say "{form}" to take it.'


no_pedal = "{} Going on without the pedal.".format
lines_lost = "Standard input could not be read: {}.".format
NOT_HEARD: Final = "The walk goes on by key and pedal; it is tried again by itself."
ear_lost = "{} The walk goes on by key and pedal.".format


def not_taken(why: str, nearest: str) -> str:
    """Return what is printed for a sound that was refused."""
    about = f"; nearest: {nearest}" if nearest else ""
    return f"Not taken: {why}{about}."
