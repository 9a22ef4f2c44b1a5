"""The wording of what a single switch and the pace bring: choices, affirming, going on."""

from typing import Final

from companion.base.text import capital, counted
from companion.command import Kind, spoken_form
from companion.guide.messages import AffirmQuestion, ChoiceCall, OfferCall
from companion.wording.voice import Style


def yes_or_no(style: Style, *, other: Kind | None = None) -> str:
    """Return how to answer a question, `other` a third way; it does not end on such a word."""
    yes, no = spoken_form(Kind.YES, style.language), spoken_form(Kind.NO, style.language)
    more = f", or {spoken_form(other, style.language)} for another way" if other else ""
    return f"Say {yes} or {no} to that{more}."


_BY_NUMBER: Final = frozenset({Kind.COUNT, Kind.AT_A_TIME})
"""Commands that would be no words at all, or other ones, without their number."""


def choice_call(message: ChoiceCall, style: Style) -> str:
    """Return one of the choices, in the words that would give it too."""
    number = "a number" if message.kind in _BY_NUMBER else ""
    form = spoken_form(message.kind, style.language, number=number)
    what = capital("the shafts you feel" if message.is_row else form)
    return f"Choices. {what}?" if message.is_first else f"{what}?"


def offer_call(message: OfferCall, _style: Style) -> str:
    """Return one likely number as it is offered."""
    what = f"shaft {message.number}?" if message.is_shaft else f"{message.number}?"
    if not message.is_first:
        return capital(what)
    feel = f"Feel them from end {message.first_end} on. " if message.is_shaft else ""
    return f"{feel}Yes or no: {what}"


def affirm_question(message: AffirmQuestion, style: Style) -> str:
    """Return the question that a second press answers."""
    planned = counted(message.expected, message.stage.counted)
    done = capital(spoken_form(Kind.DONE, style.language))
    return f"{planned} planned. {done} once more if that is your count."


affirmed = "Group {0.group} stands, not counted.".format
