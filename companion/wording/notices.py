"""The wording of what the session itself has to say, outside the guide's messages."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from companion.command import Kind, spoken_form

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path


def place_kept(session: str) -> str:
    """Return what is said when commands end without the weaver having left."""
    return f"The commands have ended. Your place is kept in {session}."


def all_done(session: str) -> str:
    """Return what is said when commands end after the last stage is complete."""
    return f"Everything this session was begun for is complete. Its record is {session}."


def interrupted(session: str) -> str:
    """Return what is said after Ctrl-C or when the system ends the program."""
    return f"Interrupted. Your place is kept in {session}."


def cut_off() -> str:
    """Return what is said of a session whose file lost what was done last."""
    return (
        "This record was copied during a walk, or its log was lost. The last steps may be missing. "
        "Say where am I, and check it at the loom."
    )


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


def not_kept(fault: str) -> str:
    """Return what is said of a command that could not be written down."""
    return f"{fault} Your last command was not taken."


def begun_anew(unread: Sequence[str]) -> str:
    """Return what is told where sessions that could not be read are passed over."""
    return f"Beginning anew. Not read: {', '.join(unread)}; `companion sessions` says why."


def plan_gone(path: Path) -> str:
    """Return what is told where a session's plan file is not there any more."""
    return f"{path} is not there any more; going on with the plan kept in the session."


def plan_unread(path: Path) -> str:
    """Return what is told where a session's plan file is another now, and no plan to walk."""
    return (
        f"{path} has changed and cannot be walked as it is; going on with the plan kept in the "
        "session. To see what is wrong: companion check."
    )


def plan_left(language: str) -> str:
    """Return what is told where the weaver goes on with the plan as it was."""
    form = spoken_form(Kind.NEW_PLAN, language)
    return f'The plan file has changed; going on with the plan as it was. Say "{form}" to take it.'


def plan_same() -> str:
    """Return what is told where the plan is looked at and is no other."""
    return "The plan is as it was."


def no_pedal(fault: str) -> str:
    """Return what is told where the pedal cannot be used."""
    return f"{fault} Going on without the pedal."


def lines_lost(fault: str) -> str:
    """Return what is told where typed lines cannot be read any more."""
    return f"Standard input could not be read: {fault}."


def ear_lost(fault: str) -> str:
    """Return what is said when spoken commands cannot be heard any more."""
    return f"{fault} The walk goes on by key and pedal."


def not_taken(why: str, nearest: str) -> str:
    """Return what is printed for a sound that was refused."""
    about = f"; nearest: {nearest}" if nearest else ""
    return f"Not taken: {why}{about}."
