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
from companion.maker.more_ways import tables_of
from companion.maker.question import AnswerError, Answers
from companion.maker.questions import BY_KEY, QUESTIONS
from companion.maker.stripes import Stripes
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
        key: BY_KEY[key].read(answer, answers)
        for key, answer in answers.items()
        if BY_KEY[key].applies(answers)
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
    """Return the plan's tables; what was not asked for is left out."""
    plan: dict[str, Any] = {
        "title": values["title"],
        "units": values["units"],
        "warp": _given(values, "ends", "width", "ends_per_inch", "ends_per_cm"),
        "reed": {
            **_given(values, "dents_per_inch", "dents_per_10cm"),
            "width": values["reed_width"],
        },
        "loom": _given(values, "shafts", "heddles", "first_end", "method", "passes"),
    }
    if values["kind"] != "unknown":
        plan["loom"]["kind"] = values["kind"]
    if values.get("raddle") is not None:
        plan["raddle"] = {"sections_per_inch": values["raddle"]}
    if values.get("raddle_cm") is not None:
        plan["raddle"] = {"sections_per_cm": values["raddle_cm"]}
    if values["floating"]:
        plan["selvedges"] = {"floating": values["floating"]}
    if "draft" in values["threading"]:
        plan |= {**values["threading"], **_given(values, "draft_first_end")}
    else:
        plan["threading"] = list(_threading(values["threading"], values.get("ends")))
        plan |= _coloured(plan["threading"], values["colours"], values, answers)
    if values.get("tie_up") is not None:
        plan["tie_up"] = {"shed": values["shed"], "treadles": values["tie_up"]}
        if values["picks"] is not None:
            plan["treadling"] = [{"picks": values["picks"]}]
    if values.get("lifts") is not None:
        plan["lifts"] = [{"shafts": values["lifts"]}]
    if values["finished"] is not None:
        plan["length"] = _given(values, "finished", "pieces", "take_up", "shrinkage", "loom_waste")
    return plan | {n: {**plan.get(n, {}), **table} for n, table in tables_of(values).items()}


def _given(values: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {key: values[key] for key in keys if values.get(key) is not None}


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
) -> dict[str, Any]:
    if colours is None:
        return {}
    if isinstance(colours, str):
        for part in parts:
            part["colour"] = colours
        return {}
    return {"colours": [run._asdict() for run in colours.over(_ends(values, answers))]}


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
    applying = [question for question in QUESTIONS if question.applies(answers)]
    while place:
        for question in applying:
            if place in question.places:
                return question.key
        inside = [
            question.key
            for question in applying
            if any(each.startswith(f"{place}.") for each in question.places)
        ]
        if inside:
            return inside[0]
        place = place.rpartition(".")[0]
    return "title"
