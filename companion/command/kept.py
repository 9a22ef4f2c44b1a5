"""A command as one line of JSON, as the record of a session keeps it."""

from __future__ import annotations

from functools import cache

from pydantic import TypeAdapter

from companion.command.command import Command


def to_json(command: Command) -> str:
    """Return a command as a JSON object of what it carries."""
    return _adapter().dump_json(command, exclude_defaults=True).decode()


def from_json(text: str) -> Command:
    """Return the command that `to_json` gave; raise ValueError for other text."""
    return _adapter().validate_json(text)


@cache
def _adapter() -> TypeAdapter[Command]:
    return TypeAdapter(Command)
