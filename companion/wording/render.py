"""The one door: a message in, an utterance out."""

from collections.abc import Callable
from typing import Any, Final

from companion.base.text import counted, span
from companion.base.value import Value
from companion.command import Kind, spoken_form
from companion.guide import events as e
from companion.guide import mend_messages as mm
from companion.guide import messages as m
from companion.guide.terms import Message
from companion.wording import cautions, checks, choices, general, mending, replanned
from companion.wording.callouts import step_call
from companion.wording.voice import Style, speak


class Utterance(Value):
    """One callout."""

    text: str
    """The printed line, with digits."""
    spoken: str
    """The words for the voice."""


def render(message: Message, style: Style) -> Utterance:
    """Return a message as one printed line and as words for the voice."""
    text = " ".join(WORDINGS[type(message)](message, style).split())
    return Utterance(text, speak(text, style))


WORDINGS: Final[dict[type, Callable[[Any, Style], str]]] = {
    m.Welcome: general.welcome,
    m.Cautions: cautions.general,
    m.StageCaution: cautions.of_stage,
    m.Help: general.help_text,
    m.HelpHint: general.help_hint,
    m.GroupStart: general.group_start,
    m.StepCall: step_call,
    e.TakenBack: checks.taken_back,
    m.CountQuestion: checks.count_question,
    e.Counted: lambda told, _: f"{told.count}{' so far' * told.is_so_far}, right.",
    m.GroupEnd: checks.group_end,
    m.KnotReminder: lambda message, _: f"Tie group {message.group} in a slip knot.",
    m.Hold: checks.hold,
    m.Differs: checks.warned,
    m.ReadingStart: checks.reading_start,
    m.LookQuestion: checks.look_question,
    m.WhichGroup: lambda *_: "Which group? Say its number.",
    m.ReadingEnd: lambda *_: "End of the reading.",
    e.FeltRight: lambda felt, _: f"As planned: {span(felt.item, felt.first_end, felt.last_end)}.",
    e.FeltWrong: checks.felt_wrong,
    e.Paused: lambda _, style: (
        f"Resting. Your place is kept. Say {spoken_form(Kind.RESUME, style.language)} to go on."
    ),
    e.Resumed: lambda *_: "Going on.",
    m.RewindQuestion: checks.rewind_question,
    m.AcceptQuestion: checks.accept_question,
    m.CatchUpQuestion: checks.catch_up_question,
    m.PlanQuestion: replanned.plan_question,
    m.EdgeQuestion: replanned.edge_question,
    e.PlanChanged: lambda event, _: " ".join(replanned.plan_changed(event)),
    m.LeaveQuestion: lambda _, style: f"Stop here? Your place is kept. {choices.yes_or_no(style)}",
    m.Dropped: lambda *_: "Nothing changed.",
    e.Overridden: lambda message, _: checks.override(message),
    e.Undone: lambda *_: "The last change is undone.",
    m.Where: general.where,
    m.NewRate: lambda rate, _: f"{'Faster' if rate.direction > 0 else 'Slower'} from here on.",
    m.NewPace: lambda pace, _: (
        {0: "Waiting for you.", 1: "Going on every second."}.get(pace.seconds)
        or f"Going on every {counted(pace.seconds, 'second')}."
    ),
    m.NumberCall: lambda call, _: "That is all?" if call.number is None else f"{call.number}?",
    m.OfferCall: choices.offer_call,
    m.ChoicesClosed: lambda *_: "Nothing chosen.",
    m.ChoiceCall: choices.choice_call,
    m.AffirmQuestion: choices.affirm_question,
    e.Affirmed: choices.affirmed,
    e.TakenOver: lambda over, _: (
        f"Taken as done: {span(over.item, max(1, over.first), over.last)}."
    ),
    m.Refused: general.refused,
    m.Unknown: general.unknown,
    m.WelcomeBack: general.welcome_back,
    m.Goodbye: general.goodbye,
    m.Finished: general.finished,
    mm.Suspected: mending.suspected,
    e.HeddlesReported: mending.heddles_reported,
    mm.MendQuestion: mending.mend_question,
    mm.MendStep: lambda message, _: mending.task_words(message.task),
    e.MendLeft: lambda *_: mending.MEND_LEFT,
    e.MendFinished: lambda done, _: f"{mending.place(done.account)} is put right.",
    mm.LeftQuestion: mending.left_question,
}
