"""Which spoken forms are listened for at each point of a walk, and which are the least to teach."""

import re
from collections.abc import Collection, Iterator
from functools import cache
from typing import Final

from companion.base.numerals import number_forms
from companion.command import Kind
from companion.command.words import FORMS, TAUGHT
from companion.devices.recogniser.interface import Vocabulary
from companion.guide.messages import COUNTED, Mode

LARGEST_NUMBER: Final = 60
"""The largest count or group that is heard as one number; digits one by one go further."""
LARGEST_END: Final = 999

_ANSWERS: Final = frozenset({Kind.YES, Kind.NO})
_ONLY: Final = {
    Mode.CONFIRMING: _ANSWERS | {Kind.REPEAT, Kind.HELP, Kind.STOP, Kind.MEND},
    Mode.CHOOSING: _ANSWERS
    | {Kind.DONE, Kind.COUNT, Kind.CHOICES, Kind.MORE_CHOICES, Kind.REPEAT, Kind.HELP, Kind.STOP},
    Mode.PAUSED: frozenset({Kind.RESUME, Kind.REPEAT, Kind.WHERE, Kind.HELP, Kind.STOP}),
}
_LEADS_ON: Final = {
    Kind.RESUME: frozenset({Mode.PAUSED, Mode.READING, Mode.LOOKING}),
    Kind.ACCEPT: frozenset({Mode.HELD, Mode.READING, Mode.LOOKING}),
    Kind.MEND: frozenset({Mode.HELD, Mode.LOOKING, Mode.MENDING, Mode.CONFIRMING}),
}
"""The modes where these do something; elsewhere their answer is, nearly always, why not."""
_WITH_NUMBERS: Final = COUNTED | {Mode.READING, Mode.CHOOSING, Mode.LOOKING}
"""Where a number is wanted; elsewhere talk would be taken for one too easily."""

BASIC: Final = (
    Kind.DONE,
    Kind.BACK,
    Kind.REPEAT,
    Kind.READ_BACK,
    Kind.WHERE,
    Kind.MISTAKE,
    Kind.UNDO,
    Kind.PAUSE,
    Kind.RESUME,
    Kind.HELP,
    Kind.STOP,
    Kind.YES,
    Kind.NO,
)
"""With these and the digits a whole plan can be walked by voice."""
_DIGITS: Final = range(10)


@cache
def vocabulary(language: str, mode: Mode | None, largest_end: int = LARGEST_NUMBER) -> Vocabulary:
    """Return what counts in a mode (None: in any) of the walk, with ends up to the largest."""
    has_numbers = mode is None or mode in _WITH_NUMBERS
    kinds = frozenset(Kind) if mode is None else _ONLY.get(mode, frozenset(Kind) - _ANSWERS)
    if mode in COUNTED:  # a "no" has the likeliest numbers offered
        kinds |= {Kind.NO}
    texts = [text for kind in Kind if kind in kinds for text in FORMS[language][kind]]
    phrases = {text for text in texts if "{" not in text}
    idle = (kind for kind, modes in _LEADS_ON.items() if mode is not None and mode not in modes)
    unlikely = frozenset(form for kind in idle for form in forms_of(kind, language)) & phrases
    if not has_numbers:
        return Vocabulary(frozenset(phrases), unlikely=unlikely)
    ends = min(largest_end, LARGEST_END)
    for text in texts:
        is_end = "{end}" in text or text in FORMS[language][Kind.REWIND]
        phrases.update(_filled(text, language, ends if is_end else LARGEST_NUMBER))
    return Vocabulary(frozenset(phrases), _numbers(language), unlikely)


@cache
def commands(language: str) -> Vocabulary:
    """Return every command that takes no number."""
    return Vocabulary(frozenset(form for kind in Kind for form in forms_of(kind, language)))


def forms_of(kind: Kind, language: str) -> tuple[str, ...]:
    """Return the forms of a command that take no number and no reason."""
    return tuple(text for text in FORMS[language][kind] if "{" not in text)


def lacking(taught: Collection[str], language: str) -> tuple[str, ...]:
    """Return what of the basic words has not been taught in any of its forms."""
    wanted = [(to_ask_for(kind, language), *forms_of(kind, language)) for kind in BASIC]
    wanted += [number_forms(digit, language) for digit in _DIGITS]
    return tuple(forms[0] for forms in wanted if not set(forms) & set(taught))


def to_ask_for(kind: Kind, language: str) -> str:
    """Return the form of a command that is safest for the ear, to be taught or asked for."""
    return forms_of(kind, language)[kind in TAUGHT.get(language, ())]


def unheard(missing: Collection[str], language: str) -> tuple[str, ...]:
    """Return the commands of which every form is missing in a recogniser's model.

    Where a look at a group is not heard, neither is the number that it asks for.
    """
    every = {kind: forms_of(kind, language) for kind in Kind if kind is not Kind.LOOK}
    return tuple(forms[0] for forms in every.values() if forms and set(forms) <= set(missing))


def _filled(text: str, language: str, largest: int) -> Iterator[str]:
    """Yield a form with each number; a bare number or a reason is not a phrase."""
    hole = re.search(r"\{(n|end)\}", text)
    if hole is None or hole[0] == text:
        return
    for number in range(largest + 1):
        for words in number_forms(number, language):
            yield text.replace(hole[0], words)


@cache
def _numbers(language: str) -> frozenset[str]:
    every = range(LARGEST_NUMBER + 1)
    return frozenset(form for number in every for form in number_forms(number, language))
