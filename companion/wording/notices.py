"""The wording of what the session itself has to say, outside the guide's messages."""

from __future__ import annotations


def place_kept(session: str) -> str:
    """Return what is said when commands end without the weaver having left."""
    return f"The commands have ended. Your place is kept in {session}."


def all_done(session: str) -> str:
    """Return what is said when commands end after the last stage is complete."""
    return f"Everything this session was begun for is complete. Its record is {session}."


def interrupted(session: str) -> str:
    """Return what is said after Ctrl-C or when the system ends the program."""
    return f"Interrupted. Your place is kept in {session}."


def leave_question() -> str:
    """Return what is asked when a voice seems to have asked to leave."""
    return "Leave off here? Your place is kept."


def ear_lost(fault: str) -> str:
    """Return what is said when spoken commands cannot be heard any more."""
    return f"{fault} The walk goes on by key and pedal."


def not_taken(why: str, nearest: str) -> str:
    """Return what is printed for a sound that was refused."""
    about = f"; nearest: {nearest}" if nearest else ""
    return f"Not taken: {why}{about}."
