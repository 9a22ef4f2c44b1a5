"""The wording of what the record of a session tells: events, for who reads the log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from companion.base.text import counted, sentence
from companion.guide import events as e
from companion.wording import checks, choices, mending, replanned
from companion.wording.slips import diagnosis_sentences, mend_sentence
from companion.wording.stages import TITLES
from companion.wording.voice import Style

if TYPE_CHECKING:
    from collections.abc import Callable


def recorded(event: e.Event) -> str:
    """Return what an event tells beyond the command that brought it about; "" for nothing."""
    word = _WORDINGS.get(type(event))
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
    return " ".join([undone, *map(checks.override, event.overrides)])


_WORDINGS: Final[dict[type[e.Event], Callable[[Any, Style], str]]] = {
    e.TakenBack: checks.taken_back,
    e.Counted: checks.count_right,
    e.Affirmed: choices.affirmed,
    e.TakenOver: choices.taken_over,
    e.ReadOn: choices.read_on,
    e.StagesAdded: replanned.stages_added,
    e.PlanChanged: replanned.plan_changed,
    e.PlanDeclined: lambda *_: "The plan stays as it was; another one in its file is not taken.",
    e.FoundWrong: _found_wrong,
    e.FeltRight: checks.felt_right,
    e.FeltWrong: checks.felt_wrong,
    e.HeddlesReported: mending.heddles_reported,
    e.Overridden: lambda event, _: checks.override(event),
    e.MendChosen: _chosen,
    e.MendLeft: lambda *_: mending.MEND_LEFT,
    e.MendFinished: lambda event, _: mending.mended(event.account),
    e.Undone: _undone,
    e.StageFinished: lambda event, _: sentence(f"{TITLES[event.stage]} is complete"),
}
