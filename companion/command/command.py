"""The commands, and how words and keys become them: one table serves voice, keys and pedal."""

import re
from collections.abc import Iterable
from enum import StrEnum
from functools import cache
from typing import Final, NamedTuple

import pydantic_core

from companion.base.errors import CommandError
from companion.base.numerals import plain, read_numbers
from companion.base.text import listed
from companion.base.value import Value
from companion.command.alike import nearness
from companion.command.words import FORMS, KEYS

LANGUAGES: Final = tuple(FORMS)
"""The languages commands can be given in."""

_KEYS_LANGUAGE: Final = "en"
_BARE_NUMBER: Final = "{n}"
_LONGEST: Final = 1000
"""No command is longer; what is must be an accident, and is refused before it is read."""
_LARGEST_TYPED: Final = 1_000_000
_LARGEST_DIGIT: Final = 9
_MOST_DIGITS: Final = 6
_HEARD_LENGTH: Final = 60
_MOST_OFFERED: Final = 3


class Kind(StrEnum):
    """Every command there is."""

    DONE = "done"
    BACK = "back"
    REPEAT = "repeat"
    READ_BACK = "read back"
    WHERE = "where"
    CAUTIONS = "cautions"
    COUNT = "count"
    PAUSE = "pause"
    RESUME = "resume"
    SLOWER = "slower"
    FASTER = "faster"
    UNDO = "undo"
    MISTAKE = "mistake"
    REWIND = "rewind"
    MEND = "mend"
    SPARE = "spare"
    LACKING = "lacking"
    ACCEPT = "accept"
    HELP = "help"
    STOP = "stop"
    YES = "yes"
    NO = "no"
    ONE_BY_ONE = "one by one"
    AT_A_TIME = "at a time"
    UNIT_BY_UNIT = "unit by unit"
    DENT_BY_DENT = "dent by dent"
    GROUP_BY_GROUP = "group by group"
    TELL_ALL = "tell everything"
    KEEP_SHORT = "keep it short"
    SHAFTS_ONLY = "shafts only"
    KEEP_GOING = "keep going"
    WAIT = "wait for me"
    MORE_TIME = "more time"
    LESS_TIME = "less time"
    CHOICES = "choices"
    MORE_CHOICES = "more choices"
    LOOK = "look"
    NEW_PLAN = "new plan"
    WRONG_EDGE = "wrong edge"


class Command(Value):
    """A command with what it carries."""

    kind: Kind
    number: int | None = None
    """A count, a group for READ_BACK, an end for REWIND, the shaft of a heddle that is left over
    for SPARE, or of one that is lacking."""
    is_end: bool = False
    """For READ_BACK: `number` is an end to read from, not a group."""
    text: str = ""
    """The reason given with ACCEPT."""
    asks_back: bool = False
    """For STOP: it may have been a slip or misheard, and is asked about first."""
    numbers: tuple[int, ...] = ()
    """For COUNT given by numbers alone: each as it came, "one two three" being 1, 2, 3. Several may
    be the shafts the weaver feels, end by end; `number` is None where they do not make one."""

    def to_json(self) -> str:
        """Return what it carries as a line of JSON, as the record of a session keeps it."""
        return pydantic_core.to_json(self.plain()).decode()


class NotACommandError(CommandError):
    """Words that are no command, cut short, those that may be meant, and a half one in full."""

    def __init__(self, heard: str, closest: tuple[str, ...], example: str, usual: str) -> None:
        self.heard = heard
        self.closest = closest
        self.example = example
        super().__init__(not_a_command(heard, quoted(closest) or usual, example))


def quoted(phrases: Iterable[str]) -> str:
    """Return commands as they are offered: "done" or "back", each in quotation marks."""
    return listed((f'"{phrase}"' for phrase in phrases), "or")


def not_a_command(heard: str, choices: str, example: str = "") -> str:
    """Return what was heard that is no command, and what to say."""
    if example:
        return f'Heard "{heard}" without a number: say "{example}", for example.'
    what = f'"{heard}" is not a command.' if heard else "Nothing was heard."
    return f"{what} Say {choices} instead."


_ONE_AT_LEAST: Final = frozenset({Kind.LOOK, Kind.SPARE, Kind.LACKING})
"""Commands whose number is small: there is always a group 1 and a shaft 1."""


class _Form(NamedTuple):
    """One form of the table, ready to be matched."""

    kind: Kind
    text: str
    pattern: re.Pattern[str]
    hole: str
    """"n", "end", "reason" or "" for a form without an argument."""


def parse(text: str, language: str = "en") -> Command:
    """Return the command that typed or heard words give, or raise NotACommandError.

    Case, spaces and punctuation do not matter; the words themselves must be a form of the table.
    A single key of the table is a command too, and so are the English forms in every language,
    since keys and pedals give those.
    """
    heard = _tidy(text[:_LONGEST])
    if heard in KEYS:
        return Command(Kind(KEYS[heard]))
    for spoken in dict.fromkeys((language, _KEYS_LANGUAGE)):
        for form in _forms(spoken):
            found = form.pattern.fullmatch(heard)
            command = found and _command(form, found, text, spoken)
            if command and len(text) <= _LONGEST:
                return command
    raise _unknown(text, heard, language)


def parsed(text: str, language: str = "en") -> Command | None:
    """Return the command that words give, or None where they give none."""
    try:
        return parse(text, language)
    except NotACommandError:
        return None


def spoken_form(
    kind: Kind, language: str = "en", *, number: str = "...", is_bare: bool = False
) -> str:
    """Return the form of a command that the weaver is told, with `number` for its argument.

    `is_bare`: the first one without an argument instead.
    """
    forms = FORMS[language][kind.value]
    told = next(form for form in forms if not (is_bare and "{" in form))
    return re.sub(r"\{\w+\}", number, told).strip()


def _tidy(text: str) -> str:
    """Return text in plain spelling, one space between words, without punctuation around them."""
    if text.strip() in KEYS:
        return text.strip()
    joined = re.sub(r"(?<=[^\W\d])-(?=[^\W\d])|(?<=\d),(?=\d)", " ", plain(text))
    words = (word.strip(".,;:!?¿¡\"'()") for word in joined.split())
    return " ".join(word for word in words if word)


def _command(form: _Form, found: re.Match[str], text: str, language: str) -> Command | None:
    """Return the command of a matched form, or None where its argument is not what it takes."""
    if not form.hole:
        return Command(form.kind)
    if form.hole == "reason":
        head = len(form.text.split()) - 1
        return Command(form.kind, text=" ".join(text.split()[head:]))
    numbers = read_numbers(found[1], language)
    if numbers is None:
        return None
    is_parted = len(numbers) > 1 and found[1].replace(" ", "").isdigit()  # typed, as no one number
    number = None if is_parted else _joined(numbers)
    is_bare = form.text == _BARE_NUMBER
    is_row = len(numbers) > 1 and (is_bare or (is_parted and form.kind is Kind.COUNT))
    if number is None and not is_row:
        return None
    given = numbers if is_bare or is_row else ()
    return Command(form.kind, number, is_end=form.hole == "end", numbers=given)


def _joined(numbers: tuple[int, ...]) -> int | None:
    """Return one number, given whole or digit by digit, or None."""
    whole = numbers[0] if len(numbers) == 1 else None
    if whole is None and len(numbers) <= _MOST_DIGITS and max(numbers) <= _LARGEST_DIGIT:
        whole = int("".join(map(str, numbers)))
    return whole if whole is not None and whole <= _LARGEST_TYPED else None


@cache
def _forms(language: str) -> tuple[_Form, ...]:
    """Return the language's forms, those without an argument first."""
    table = FORMS[language].items()
    forms = [_form(Kind(name), text, language) for name, texts in table for text in texts]
    return tuple(sorted(forms, key=lambda form: (bool(form.hole), form.text.startswith("{"))))


def _form(kind: Kind, text: str, language: str) -> _Form:
    hole = re.search(r"\{(\w+)\}", text)
    gap = r"\s*" if language == "ko" else " "
    pattern = gap.join(
        "(.+)" if word.startswith("{") else re.escape(word) for word in plain(text).split()
    )
    return _Form(kind, text, re.compile(pattern), hole[1] if hole else "")


def _unknown(text: str, heard: str, language: str) -> NotACommandError:
    printable = "".join(mark if mark.isprintable() else " " for mark in text[:_LONGEST])
    shown = " ".join(printable.split())[:_HEARD_LENGTH]
    starts = [form for form in _forms(language) if heard and _is_begun(form, heard)]
    example = _filled(starts[0]) if starts else ""
    usual = quoted(spoken_form(kind, language) for kind in _USUAL)
    return NotACommandError(shown, _closest(heard, language), example, usual)


def _closest(heard: str, language: str) -> tuple[str, ...]:
    """Return the commands that may be meant, each in one form and with the number heard."""
    digits = re.search("[0-9]+", heard)
    number = digits[0] if digits and _joined((int(digits[0]),)) is not None else ""
    bare = " ".join(re.sub(r"\d+", " ", heard).split())
    near: dict[Kind, tuple[float, str]] = {}
    for form in _forms(language):
        words = plain(re.sub(r"\{\w+\}", "", form.text)).strip()
        if form.hole == "reason" or not words:
            continue
        found = nearness(bare if form.hole else heard, words)
        if found > near.get(form.kind, (0.0, ""))[0]:
            near[form.kind] = found, _filled(form, number)
    likeliest = sorted(near.values(), key=lambda each: -each[0])
    return tuple(text for _, text in likeliest[:_MOST_OFFERED])


def _is_begun(form: _Form, heard: str) -> bool:
    """Return whether words are a form but for its number, or the beginning of it."""
    start = plain(form.text).split("{")[0].strip()
    is_part = form.kind in _ONE_AT_LEAST and start.startswith(f"{heard} ")
    return form.hole in {"n", "end"} and (start == heard or is_part)


def _filled(form: _Form, number: str = "") -> str:
    """Return a form with a number, or one for example."""
    usual = "1" if form.kind in _ONE_AT_LEAST else "4"
    return re.sub(r"\{\w+\}", number or usual, form.text)


_USUAL: Final = (Kind.DONE, Kind.BACK, Kind.REPEAT, Kind.HELP)
