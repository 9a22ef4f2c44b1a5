"""The wording of what the session itself has to say, outside the guide's messages."""

from __future__ import annotations


def place_kept(session: str) -> str:
    """Return what is said when commands end without the weaver having left."""
    return f"No more commands are coming. Your place is kept in {session}."


def all_done(session: str) -> str:
    """Return what is said when commands end after the last stage is complete."""
    return f"Everything this session was begun for is complete. Its record is {session}."


def interrupted(session: str) -> str:
    """Return what is said after Ctrl-C or when the system ends the program."""
    return f"Interrupted. Your place is kept in {session}."
