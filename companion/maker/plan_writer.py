"""From answers to the text of a plan, and from the plan's problems back to the questions."""

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Final, NamedTuple

import tomli_w

from companion.base.errors import PlanError, Problem
from companion.base.text import sentence
from companion.loom.compute import compute_text
from companion.loom.dressing import Dressing
from companion.maker.question import AnswerError, Answers, several
from companion.maker.questions import BY_KEY, asked
from companion.maker.stripes import Stripes
from companion.plan.schema import PlanFile
from companion.plan.threading.named import find_named
from companion.plan.threading.notation import read_numbers
from companion.plan.values import exact

HEAD: Final = "# Made by the companion's plan maker; every line may be changed by hand.\n\n"


class Made(NamedTuple):
    """What came of the answers."""

    text: str
    """The plan file."""
    dressing: Dressing | None
    """What the plan comes to; None where it has faults."""
    faults: dict[str, str]
    """What is wrong, by the question that can mend it."""


def make(answers: Answers, draft_text: str | None = None) -> Made:
    """Return the plan that answers, one for every question that applies, make.

    `draft_text` is that of the WIF file that the threading names, if it names one.
    """
    faults: dict[str, str] = {}
    for key, answer in answers.items():
        try:  # an answer before it may have been changed since
            BY_KEY[key].read(answer, answers)
        except AnswerError as error:
            faults[key] = str(error)
    if faults:
        return Made("", None, faults)
    try:
        text = plan_text(answers)
    except AnswerError as error:
        return Made("", None, {"colours": str(error)})
    try:
        return Made(text, compute_text(text, "the plan", draft_text)[1], {})
    except PlanError as error:
        return Made(text, None, _by_question(error.problems, answers))


def plan_text(answers: Answers) -> str:
    """Return the answers as the text of a plan file."""
    values = {
        question.key: question.read(answers[question.key], answers)
        for question in asked(answers)
        if question.key in answers
    }
    return HEAD + "\n".join(_tables(_plan(values, answers)))


def _tables(plan: dict[str, Any]) -> Iterator[str]:
    """Yield the plan's tables as TOML, each list of tables under headings of its own."""
    plain = {key: value for key, value in plan.items() if not isinstance(value, (dict, list))}
    yield tomli_w.dumps(plain)
    for name, table in plan.items():
        if isinstance(table, dict):
            yield tomli_w.dumps({name: table})
        elif isinstance(table, list):
            yield from (f"[[{name}]]\n{tomli_w.dumps(part)}" for part in table)


def _plan(values: dict[str, Any], answers: Answers) -> dict[str, Any]:
    """Return the plan's tables in the schema's order; what was not asked for is left out."""
    written = {**values, "floating": values["floating"] or None}
    if values["kind"] == "unknown":
        del written["kind"]
    plan: dict[str, Any] = {}
    if "draft" in values["threading"]:
        plan |= written.pop("threading")
    else:
        parts = list(_threading(values["threading"], values.get("ends")))
        colours = _coloured(parts, values["colours"], values, answers)
        written |= {"threading": parts, "colours": colours}
    for key, value in written.items():
        places = BY_KEY[key].places
        if places and value is not None:
            table, _, name = places[-1].rpartition(".")
            (plan.setdefault(table, {}) if table else plan)[name] = value
    if "centre" in several(values["more"]):
        plan["loom"]["thread_from"] = "centre"
    if "tie_up" in plan:
        plan["tie_up"].setdefault("shed", "rising")  # not asked of a countermarch
    return {name: plan[name] for name in PlanFile.model_fields if name in plan}


def _threading(part: dict[str, str], ends: int | None) -> Iterator[dict[str, Any]]:
    """Yield the threading as often as it fits whole, and what is over as its first ends."""
    if ends is None:
        yield {**part, "times": "fill"}
        return
    shafts = shafts_of(part)
    times, over = divmod(ends, len(shafts))
    if times:
        yield {**part, "times": times} if times > 1 else part
    if over:
        yield {"ends": "-".join(map(str, shafts[:over])), "name": "part of a repeat"}


def shafts_of(part: dict[str, str]) -> tuple[int, ...]:
    """Return the shafts of one repeat of a part."""
    named = find_named(part["named"]) if "named" in part else None
    return named.shafts if named else read_numbers(part["ends"])


def _coloured(
    parts: list[dict[str, Any]],
    colours: Stripes | str | None,
    values: dict[str, Any],
    answers: Answers,
) -> list[dict[str, Any]] | None:
    """Return the runs of colour; one colour of all ends is written with their threading."""
    if isinstance(colours, Stripes):
        return list(colours.over(_ends(values, answers)))
    if colours is not None:
        for part in parts:
            part["colour"] = colours
    return None


def _ends(values: dict[str, Any], answers: Answers) -> int:
    if "ends" in values:
        return int(values["ends"])
    sett = exact(answers.get("ends_per_inch") or answers["ends_per_cm"])
    asked = math.floor(exact(answers["width"]) * sett + Fraction(1, 2))
    repeat = len(shafts_of(values["threading"]))
    return asked // repeat * repeat


def _by_question(problems: tuple[Problem, ...], answers: Answers) -> dict[str, str]:
    """Return what is wrong under the question whose part of the file it stands in."""
    faults: dict[str, str] = {}
    for problem in problems:
        place = ".".join(key for key in problem.path if isinstance(key, str))
        key = _question_for(place, answers)
        line = f"{sentence(problem.fault)} {sentence(problem.mend)}"
        faults[key] = f"{faults[key]} {line}" if key in faults else line
    return faults


def _question_for(place: str, answers: Answers) -> str:
    """Return the key of the question that decides a place, or the one nearest around it."""
    applying = asked(answers)
    while place:
        deciding = [each for each in applying if place in each.places] or [
            each for each in applying if any(own.startswith(f"{place}.") for own in each.places)
        ]
        if deciding:
            return deciding[0].key
        place = place.rpartition(".")[0]
    return "title"
