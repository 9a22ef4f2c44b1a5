"""Walking a stage as its weaver would, for the tests of the stages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.callout import Style, render
from companion.command import Command, Kind
from companion.guide import Mode, Options, Say, State, start, step
from companion.guide.place import expected_so_far

if TYPE_CHECKING:
    from companion.guide import Message
    from companion.sequence import Stage


def right_command(state: State, stage: Stage) -> Command:
    """Return the command of a weaver to whom all goes as planned."""
    if state.mode in {Mode.COUNTING, Mode.HELD}:
        return Command(Kind.COUNT, expected_so_far(state, stage))
    return Command(Kind.DONE)


def walk(stage: Stage, options: Options | None = None) -> list[Message]:
    """Return everything that is said from the first step of a stage to its end."""
    state, effects = start(stage, options or Options())
    said = [effect.message for effect in effects if isinstance(effect, Say)]
    while state.mode is not Mode.FINISHED:
        outcome = step(state, right_command(state, stage), stage)
        assert outcome.is_accepted
        state = outcome.state
        said += [effect.message for effect in outcome.effects if isinstance(effect, Say)]
    return said


def printed(messages: list[Message]) -> list[str]:
    """Return messages as they are printed."""
    return [render(message, Style()).text for message in messages]
