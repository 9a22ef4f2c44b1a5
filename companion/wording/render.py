"""The one door: a message in, an utterance out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from companion.base.value import Value
from companion.guide import events as e
from companion.guide import mend_messages as mm
from companion.guide import messages as m
from companion.wording import cautions, checks, choices, mending, replanned, steps
from companion.wording import general as talk
from companion.wording.voice import Style, speak

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.guide.terms import Message


class Utterance(Value):
    """One callout."""

    text: str
    """The printed line, with digits."""
    spoken: str
    """The words for the voice."""


def render(message: Message, style: Style) -> Utterance:
    """Return a message as one printed line and as words for the voice."""
    text = " ".join(_WORDINGS[type(message)](message, style).split())
    return Utterance(text, speak(text, style))


_WORDINGS: Final[dict[type[Message], Callable[[Any, Style], str]]] = {
    m.Welcome: talk.welcome,
    m.Cautions: cautions.general,
    m.StageCaution: cautions.of_stage,
    m.Help: talk.help_text,
    m.HelpHint: talk.help_hint,
    m.GroupStart: talk.group_start,
    m.StepCall: steps.step_call,
    e.TakenBack: checks.taken_back,
    m.CountQuestion: checks.count_question,
    e.Counted: checks.count_right,
    m.GroupEnd: checks.group_end,
    m.KnotReminder: lambda message, _: f"Tie group {message.group} in a slip knot.",
    m.Miscount: checks.miscount,
    m.Hold: checks.hold,
    m.Warned: checks.warned,
    m.ReadingStart: checks.reading_start,
    m.ReadStep: steps.step_call,
    m.LookQuestion: checks.look_question,
    m.WhichGroup: lambda *_: "Which group? Say its number.",
    m.ReadingEnd: lambda *_: talk.READING_END,
    e.FeltRight: checks.felt_right,
    e.FeltWrong: checks.felt_wrong,
    e.Paused: talk.paused,
    e.Resumed: lambda *_: talk.RESUMED,
    m.RewindQuestion: checks.rewind_question,
    m.AcceptQuestion: checks.accept_question,
    m.PlanQuestion: replanned.plan_question,
    m.EdgeQuestion: replanned.edge_question,
    e.PlanChanged: replanned.plan_changed,
    m.LeaveQuestion: lambda _, style: f"{talk.LEAVE_QUESTION} {choices.yes_or_no(style)}",
    m.Dropped: lambda *_: talk.DROPPED,
    e.Overridden: lambda message, _: checks.override(message),
    e.Undone: lambda *_: talk.RESTORED,
    m.Where: talk.where,
    m.NewRate: talk.new_rate,
    m.NewPace: choices.new_pace,
    m.NumberCall: choices.number_call,
    m.OfferCall: choices.offer_call,
    m.ChoicesClosed: lambda *_: "Nothing chosen.",
    m.ChoiceCall: choices.choice_call,
    m.AffirmQuestion: choices.affirm_question,
    e.Affirmed: choices.affirmed,
    e.TakenOver: choices.taken_over,
    m.Refused: talk.refused,
    m.Unknown: talk.unknown,
    m.WelcomeBack: talk.welcome_back,
    m.Goodbye: talk.goodbye,
    m.Finished: talk.finished,
    mm.Suspected: mending.suspected,
    e.HeddlesReported: mending.heddles_reported,
    mm.MendQuestion: mending.mend_question,
    mm.MendStep: mending.mend_step,
    e.MendLeft: lambda *_: mending.MEND_LEFT,
    e.MendFinished: mending.mend_finished,
    mm.LeftQuestion: mending.left_question,
}
