"""The wording of what the record of a session tells: events, for who reads the log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from companion.diagnosis.words import diagnosis_sentences, mend_sentence
from companion.guide import events as e
from companion.wording import checks, mending
from companion.wording.steps import number_counted, number_of, sentence

if TYPE_CHECKING:
    from collections.abc import Callable


def recorded(event: e.Event) -> str:
    """Return what an event tells beyond the command that brought it about; "" for nothing."""
    word = _WORDINGS.get(type(event))
    return word(event) if word else ""


def _found_wrong(event: e.FoundWrong) -> str:
    so_far = " so far" if event.is_so_far else ""
    counted = number_counted(event.count, event.counted)
    return f"Group {event.group} does not fit: {counted}{so_far} instead of {event.expected}."


def _chosen(event: e.MendChosen) -> str:
    account = event.account
    return f"To mend: {diagnosis_sentences(account.diagnosis)} {mend_sentence(account.mend)}"


def _undone(event: e.Undone) -> str:
    undone = f"Undone: {number_of(event.confirmed, 'step')} confirmed."
    return " ".join([undone, *map(checks.override, event.overrides)])


_WORDINGS: Final[dict[type[e.Event], Callable[[Any], str]]] = {
    e.TakenBack: checks.taken_back,
    e.Counted: checks.counted,
    e.FoundWrong: _found_wrong,
    e.FeltRight: checks.felt_right,
    e.FeltWrong: checks.felt_wrong,
    e.HeddlesReported: mending.heddles_reported,
    e.Overridden: checks.override,
    e.MendChosen: _chosen,
    e.MendLeft: lambda _: mending.MEND_LEFT,
    e.MendFinished: lambda event: mending.mended(event.account),
    e.Undone: _undone,
    e.StageFinished: lambda event: sentence(f"{event.title} is complete"),
}
