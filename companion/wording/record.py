"""The wording of what the record of a session tells: events, for who reads the log."""

from collections.abc import Callable
from typing import Any, Final

from companion.base.text import counted, sentence, span
from companion.guide import events as e
from companion.wording import checks, mending
from companion.wording.render import WORDINGS
from companion.wording.replanned import titles
from companion.wording.slips import diagnosis_sentences, mend_sentence
from companion.wording.stages import TITLES
from companion.wording.voice import Style


def recorded(event: e.Event) -> str:
    """Return what an event tells beyond the command that brought it about; "" for nothing."""
    kind = type(event)
    word = _OWN.get(kind) or (None if kind in _SAID_ALONE else WORDINGS.get(kind))
    return word(event, Style()) if word else ""


def _found_wrong(event: e.FoundWrong, _style: Style) -> str:
    so_far = " so far" if event.is_so_far else ""
    number = counted(event.count, event.counted)
    return f"Group {event.group} does not fit: {number}{so_far} instead of {event.expected}."


def _chosen(event: e.MendChosen, _style: Style) -> str:
    account = event.account
    return f"To mend: {diagnosis_sentences(account.diagnosis)} {mend_sentence(account.mend)}"


def _undone(event: e.Undone, _style: Style) -> str:
    undone = f"Undone: {counted(event.confirmed, 'step')} confirmed."
    return " ".join([undone, *map(checks.exception, event.overrides)])


_OWN: Final[dict[type[e.Event], Callable[[Any, Style], str]]] = {
    e.ReadOn: lambda event, _: f"Read on by itself: {span('step', event.first, event.last)}.",
    e.StagesAdded: lambda event, _: f"Walked from here on: {titles(event.after.stages)}.",
    e.PlanDeclined: lambda *_: "The plan stays as it was; another one in its file is not taken.",
    e.FoundWrong: _found_wrong,
    e.MendChosen: _chosen,
    e.Overridden: lambda event, _: checks.exception(event),
    e.MendFinished: lambda event, _: mending.mended(event.account),
    e.Undone: _undone,
    e.StageFinished: lambda event, _: sentence(f"{TITLES[event.stage]} is complete"),
}
"""What is told of events in the log otherwise than to the weaver, or to nobody else."""
_SAID_ALONE: Final = frozenset({e.Paused, e.Resumed})
