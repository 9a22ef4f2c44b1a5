"""What the guide asks the session to do, as data, and the outcome of one command."""

from collections.abc import Iterable
from typing import Literal, NamedTuple

from companion.base.value import Value
from companion.guide.events import Event, Events
from companion.guide.state import State
from companion.guide.terms import Message

PlanWish = Literal["look", "take", "keep", "edge"]
Tune = Literal["confirm", "refuse", "boundary", "trouble", "finish"]


class Say(Value):
    """Speak and print a message."""

    message: Message


class Tone(Value):
    """Sound a short signal."""

    tune: Tune


class ChangeRate(Value):
    """Speak faster (+1) or slower (-1) from the next callout on."""

    direction: Literal[-1, 1]


class Keep(Value):
    """Keep a wish for the next walk too."""

    wish: Literal["step", "detail"]
    value: str


class ChangePlan(Value):
    """Look at the plan, or take another, as the weaver wishes or has agreed to."""

    how: PlanWish
    """Look whether it has changed, take it, or look how it can be walked from the other edge."""


class Leave(Value):
    """End the session; the place is kept."""


Effect = Say | Tone | ChangeRate | Keep | ChangePlan | Leave
Effects = tuple[Effect, ...]


def messages_in(effects: Iterable[Effect]) -> tuple[Message, ...]:
    """Return the messages among effects, in order."""
    return tuple(effect.message for effect in effects if isinstance(effect, Say))


class Outcome(NamedTuple):
    """What one command led to."""

    state: State
    effects: Effects
    is_accepted: bool
    """False: the command did not fit, and `state` is what it was."""
    events: Events = ()
    """What came about, for the record; none where the work stands as it stood."""


def unchanged(state: State, *effects: Effect) -> Outcome:
    """Return the outcome of a command that fits and changes nothing of the work."""
    return Outcome(state, effects, is_accepted=True)


def accepted(state: State, tune: Tune, *what: Event | Message, unsaid: Events = ()) -> Outcome:
    """Return the outcome of a command that fits.

    Args:
        state: after it.
        tune: what sounds first.
        what: came about, or is to be said, in that order; some are both.
        unsaid: came about first, and is not to be said in any case.
    """
    said = (Say(each) for each in what if isinstance(each, Message))
    events = (*unsaid, *(each for each in what if isinstance(each, Event)))
    return Outcome(state, (Tone(tune), *said), is_accepted=True, events=events)
