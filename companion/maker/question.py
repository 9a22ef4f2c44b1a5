"""What a question of the plan maker is, and the fault of an answer that does not fit."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from companion.base.errors import UnfitTextError
from companion.base.text import quoted
from companion.base.value import Value

Answers = Mapping[str, str]
"""What was answered so far, as typed, by the questions' keys."""


class AnswerError(UnfitTextError):
    """An answer that does not fit."""


def unfit(expected: str, came: str, mend: str) -> AnswerError:
    """Return the fault of an answer, from what would fit and what came."""
    found = f"not {quoted(came)}" if came else "and nothing was answered"
    return AnswerError(f"expected {expected}, {found}", mend)


def several(answer: str) -> list[str]:
    """Return the answers of a question that takes several, as one or more are kept."""
    return answer.split(", ")


class When(NamedTuple):
    """The answer of an earlier question on which this one is asked."""

    key: str
    answers: tuple[str, ...]
    is_not: bool = False
    """Whether it is asked on every other answer instead."""
    suffix: str = ""
    """What the answer ends in, instead of being one of a few."""

    def holds(self, answers: Answers) -> bool:
        """Say whether it is so after these answers."""
        given = answers.get(self.key, "")
        if self.suffix:
            return given.lower().endswith(self.suffix) is not self.is_not
        return any(each in self.answers for each in several(given)) is not self.is_not


class Answer(NamedTuple):
    """One answer of a few."""

    answer: str
    """What is said or typed."""
    label: str
    """What it means."""
    also: tuple[str, ...] = ()
    """Other ways to say it."""


class Question(Value):
    """One question of the plan maker."""

    key: str
    section: str
    """The heading it stands under in the form."""
    ask: str
    """The question, one sentence."""
    default: Callable[[Answers], str]
    """The answer that is taken where none is given; from the answers before."""
    read: Callable[[str, Answers], Any]
    """From a typed answer to the plan's value; raises AnswerError."""
    hint: str = ""
    """More about it, a sentence or two."""
    when: tuple[When, ...] = ()
    """All must hold for it to be asked."""
    choices: tuple[Answer, ...] = ()
    """The answers there are; empty where it is free text."""
    takes_several: bool = False
    """Whether more than one of them may be given."""
    told: Callable[[Any], str] | None = None
    """Says what was understood, where that is more than what was typed."""
    offers: Callable[[Answers], tuple[str, ...]] | None = None
    """Answers to offer where others are welcome too."""
    places: tuple[str, ...] = ()
    """What it decides in the plan file, "warp.ends"; the last is where its value is written."""
    called: str = ""
    """What its answer is called where it is read back or to be changed; without it, its key."""

    @property
    def name(self) -> str:
        """What its answer is called, "reed width"."""
        return self.called or self.key.replace("_", " ")

    def applies(self, answers: Answers) -> bool:
        """Say whether it is to be asked after these answers."""
        return all(when.holds(answers) for when in self.when)
