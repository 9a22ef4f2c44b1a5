"""What the guide asks the session to do, as data, and the outcome of one command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from companion.guide.messages import Message
    from companion.guide.state import State

Tune = Literal["confirm", "refuse", "boundary", "trouble", "finish"]


@dataclass(frozen=True, slots=True)
class Say:
    """Speak and print a message."""

    message: Message


@dataclass(frozen=True, slots=True)
class Tone:
    """Sound a short signal."""

    tune: Tune


@dataclass(frozen=True, slots=True)
class ChangeRate:
    """Speak faster (+1) or slower (-1) from the next callout on."""

    direction: Literal[-1, 1]


@dataclass(frozen=True, slots=True)
class Keep:
    """Keep a wish for the next walk too."""

    wish: Literal["step", "detail"]
    value: str


@dataclass(frozen=True, slots=True)
class Leave:
    """End the session; the place is kept."""


Effect = Say | Tone | ChangeRate | Keep | Leave
Effects = tuple[Effect, ...]


class Outcome(NamedTuple):
    """What one command led to."""

    state: State
    effects: Effects
    is_accepted: bool
    """False: the command did not fit, and `state` is what it was."""
