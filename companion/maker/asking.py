"""What the table of questions is made of: defaults, and questions with a few answers."""

from collections.abc import Callable

from companion.maker import reading
from companion.maker.question import Answer, Answers, Question


def always(answer: str) -> Callable[[Answers], str]:
    """Return a default that is the same after any answers."""
    return lambda _answers: answer


def by_units(inches: str, centimetres: str) -> Callable[[Answers], str]:
    """Return a default in the plan's own units."""
    return lambda answers: centimetres if answers.get("units") == "metric" else inches


def same_as(key: str, otherwise: str) -> Callable[[Answers], str]:
    """Return a default that is an earlier answer."""
    return lambda answers: answers.get(key) or otherwise


def choice(
    key: str,
    section: str,
    ask: str,
    default: Callable[[Answers], str],
    *choices: Answer,
    **more: object,
) -> Question:
    """Return a question with a few answers."""
    read = reading.choices if more.get("takes_several") else reading.choice
    return Question(key, section, ask, default, read(*choices), choices=choices, **more)  # type: ignore[arg-type]
