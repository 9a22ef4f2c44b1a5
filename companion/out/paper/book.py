"""A walk as chapters of lines with pauses, to be read out by a plain player."""

from collections.abc import Iterator
from typing import NamedTuple

from companion.command import Command, Kind
from companion.guide import Options, start, step
from companion.guide.effects import messages_in
from companion.guide.messages import Finished, GroupEnd, GroupStart, StepCall
from companion.guide.terms import Message
from companion.job import Stage
from companion.wording import Style, render
from companion.wording.stages import TITLES, group_title

SHORT_PAUSE_SECONDS = 0.8
"""After a line that asks for no work."""
COUNT_PAUSES = 3
"""Pauses of a step that counting a group takes."""


class Passage(NamedTuple):
    """One line, and the silence after it."""

    line: str
    """In words for the voice."""
    pause_seconds: float


class Chapter(NamedTuple):
    """One group of the walk."""

    title: str
    """For a player's display, "Threading: group 1 of 5, pattern 1"."""
    parts: tuple[Passage, ...]


def chapters(
    walked: Stage, style: Style, pause_seconds: float, *, has_cautions: bool
) -> Iterator[Chapter]:
    """Yield a stage's groups, worded as they are in a walk that is confirmed step by step.

    Each step is followed by a pause for the hands; the general cautions go before the first stage.
    """
    title = ""
    parts: list[Passage] = []
    for message in _messages(walked, has_cautions=has_cautions):
        if isinstance(message, GroupStart):
            if title:
                yield Chapter(title, tuple(parts))
                parts = []
            title = f"{TITLES[walked.name].capitalize()}: {group_title(message.group, walked)}"
        spoken = render(message, style).spoken
        parts.append(Passage(spoken, _pause(message, pause_seconds)))
    yield Chapter(title, tuple(parts))


def _pause(message: Message, pause_seconds: float) -> float:
    if isinstance(message, StepCall):
        return pause_seconds
    if isinstance(message, (GroupEnd, Finished)):
        return max(SHORT_PAUSE_SECONDS, COUNT_PAUSES * pause_seconds)
    return SHORT_PAUSE_SECONDS


def _messages(walked: Stage, *, has_cautions: bool) -> Iterator[Message]:
    """Yield what is said from the beginning to the end if every step is confirmed at once."""
    options = Options(ask_counts=False, cautions=has_cautions, opening="whole", tell_help=False)
    state, effects = start(walked, options)
    yield from messages_in(effects)
    for _ in walked.steps:
        outcome = step(state, Command(Kind.DONE), walked)
        state = outcome.state
        yield from messages_in(outcome.effects)
