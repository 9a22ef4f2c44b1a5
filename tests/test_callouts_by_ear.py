"""Every callout is taken apart again from its spoken words alone, by a grammar written here.

What is told depends on the detail: ends, shafts and dents; shafts and dents; or shafts. The rest
follows from the place, which the listener knows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words  # type: ignore[import-untyped]
from small_plans import make_plan, plans, straight, untimed

from companion.command.size import StepSize, read_size
from companion.guide.messages import Named, StepCall
from companion.job import Stage, StageName, Step, stage
from companion.job.handful import handful
from companion.loom.compute import compute
from companion.wording.callouts import step_call
from companion.wording.voice import Style, speak

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.command.size import Detail
    from companion.plan.file.reader import Plan

DETAILS: tuple[Detail, ...] = ("all", "short", "shafts")
PASSES: tuple[StageName, ...] = ("thread-and-sley", "thread", "sley")
SIZES = ["1", "2", "3", "4", "8", "unit", "dent", "group"]

HUNDRED = 100
SMALL = {num2words(n).replace("-", " "): n for n in range(100)}
"""The words of each number below a hundred, by a library of its own."""


def number(words: str) -> int:
    """Return the number that words say, such as "two thousand one hundred five"."""
    total = 0
    for size, name in ((1000, " thousand"), (100, " hundred")):
        head, found, words = words.partition(name) if name in words else ("", "", words)
        total += number(head) * size if found else 0
        words = words.strip()
    return total + (SMALL[words] if words else 0)


def is_number(words: str) -> bool:
    return words.split(" ", maxsplit=1)[0] in SMALL


@dataclass
class Heard:
    """What a listener writes down of one callout."""

    names: list[str] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    shafts: list[int] = field(default_factory=list)
    dents: list[int] = field(default_factory=list)
    """One for each shaft, or for each floating selvedge."""


def heard(spoken: str, detail: Detail, dent_before: int) -> Heard:
    """Take a spoken callout apart; a sentence that tells no numbers is a name."""
    result = Heard()
    for sentence in re.split(r"(?<=\.)\s+", spoken.lower()):
        words = sentence.removesuffix(".")
        if re.fullmatch(r"leave [a-z ]+ dents? empty", words):
            continue
        if detail == "shafts" and is_number(re.split("[,;]| doubled", words)[0]):
            result.shafts += _list(words)
        elif re.match(r"(ends?|shafts?|dents?|floating) ", words):
            _clauses(words, result, dent_before)
        else:
            result.names.append(words)
        if dent_before and result.dents:
            dent_before = result.dents[-1] if dent_before > 0 else -result.dents[-1]
    return result


def _list(words: str) -> list[int]:
    """Return the numbers between pauses; one that is doubled counts twice."""
    found: list[int] = []
    for item in re.split(r"[,;]\s*", words.strip(" ,;:")):
        plain = item.removesuffix(" doubled")
        found += [number(plain)] * (1 if plain == item else 2)
    return found


def _run(words: str) -> list[int]:
    """Return the numbers of "one", "one and two" or "one through four"."""
    words = words.strip(" ,;:")
    if " through " in words:
        first, last = map(number, words.split(" through "))
        way = 1 if first <= last else -1
        return list(range(first, last + way, way))
    return [number(each) for each in words.split(" and ")]


def _clauses(words: str, result: Heard, dent_before: int) -> None:
    """Read "ends ...", "shafts ..." and "dents ..." clauses one after the other."""
    words = words.replace(", no heddle", "").replace(" in one heddle:", " doubled:")
    is_doubled = " doubled:" in words
    clauses = re.findall(r"(end|shaft|dent)s? (.+?)(?=\b(?:ends?|shafts?|dents?) |$)", words)
    pending: list[int] = []
    dent_first: list[int] = []
    for what, rest in clauses:
        if what == "end":
            result.ends += _run(rest.removesuffix(" ").removesuffix(":").removesuffix(" doubled"))
        elif what == "shaft":
            pending = _list(rest)
            pending = pending * 2 if is_doubled else pending
            result.shafts += pending
            if dent_first:
                result.dents += dent_first * len(pending)
        else:
            run, *each = rest.strip(" ,;:").split(", ")
            dents = [_whole(dent, dent_before) for dent in _run(run)]
            if rest.strip().endswith(":"):
                dent_first = dents
                continue
            if each:
                count = number(each[0].removesuffix(" in each"))
                dents = [dent for dent in dents for _ in range(count)]
            if len(dents) == 1 and pending:
                dents *= len(pending)
            result.dents += dents
            pending = []


def _whole(dent: int, before: int) -> int:
    """Put back the hundreds that the ear knows from the dent before; a way down has a minus."""
    if dent >= HUNDRED:
        return dent
    if before < 0:
        return dent + max(0, (-before - dent) // HUNDRED * HUNDRED)
    return dent if dent > before else dent + before - before % HUNDRED


def told(
    steps: Sequence[Step],
    walked: Stage,
    detail: Detail,
    *,
    named: Sequence[Named] = (),
    dent_before: int = 0,
) -> str:
    """Return a callout as it is printed."""
    call = StepCall(walked, tuple(steps), detail, tuple(named), dent_before=dent_before)
    return step_call(call, Style())


def names_in(walked: Stage, steps: tuple[Step, ...]) -> list[Named]:
    """Return what is named in a callout: each unit and each colour that begins in it."""
    found = []
    for at, step in enumerate(steps):
        if step.is_floating:
            continue
        is_new = not at or steps[at - 1].unit != step.unit
        unit = walked.unit_names[step.unit] if is_new and step.unit >= 0 else ""
        colour = step.colour if step.is_new_colour else ""
        if unit or colour:
            found.append(Named(at, unit, step.unit + 1, is_new_unit_name=True, colour=colour))
    return found


def callouts(walked: Stage, size: StepSize) -> list[tuple[Step, ...]]:
    found: list[tuple[Step, ...]] = []
    first = 1
    while first <= len(walked.steps):
        _, last = handful(walked, first, size)
        found.append(walked.steps[first - 1 : last])
        first = last + 1
    return found


@untimed
@given(plans(), st.sampled_from(PASSES), st.sampled_from(SIZES), st.sampled_from(DETAILS))
def test_every_callout_is_taken_apart_by_ear(
    plan: Plan, name: StageName, size: str, detail: Detail
) -> None:
    """All tells ends, shafts and dents; short shafts and dents; shafts the shafts."""
    walked = stage(compute(plan), name)
    before, way = 0, 1
    for steps in callouts(walked, read_size(size)):
        if steps[0].is_back:
            before, way = 0, -1
        text = told(
            steps,
            walked,
            detail,
            named=names_in(walked, steps),
            dent_before=before if detail == "short" else 0,
        )
        got = heard(speak(text, Style()), detail, way * before if detail == "short" else 0)
        shafts = [shaft for step in steps for shaft in step.shafts]
        ends = [end for step in steps if step.shafts
                for end in range(step.first_end, step.last_end + 1)]  # fmt: skip
        dents = [dent for step in steps for dent in step.dents]
        assert got.shafts == shafts, text
        assert detail != "all" or got.ends == ends, text
        assert detail == "shafts" or got.dents == dents, text
        before = dents[-1] if dents else before


PLAIN = make_plan(straight(16), sett=10)
TWO_IN_A_DENT = make_plan(straight(16))


@pytest.mark.parametrize(
    ("plan", "size", "detail", "words"),
    [
        (PLAIN, "1", "all", "End 1: shaft 1, dent 1."),
        (PLAIN, "4", "all", "Ends 1 to 4: shafts 1, 2, 3, 4, dents 1 to 4."),
        (PLAIN, "1", "short", "Shaft 1, dent 1."),
        (PLAIN, "4", "short", "Shafts 1, 2, 3, 4, dents 1 to 4."),
        (PLAIN, "unit", "shafts", "1, 2, 3, 4."),
        (TWO_IN_A_DENT, "4", "all", "Ends 1 to 4: shafts 1, 2, 3, 4, dents 1 and 2, 2 in each."),
        (TWO_IN_A_DENT, "dent", "short", "Shafts 1, 2, dent 1."),
        (TWO_IN_A_DENT, "3", "short", "Shafts 1, 2, dent 1; shaft 3, dent 2."),
    ],
)
def test_the_words_of_a_callout(plan: Plan, size: str, detail: Detail, words: str) -> None:
    """As a helper at the loom would read them."""
    walked = stage(compute(plan), "thread-and-sley")
    assert told(callouts(walked, read_size(size))[0], walked, detail) == words


def test_the_voice_takes_a_breath_after_four_shafts() -> None:
    """A longer pause stands after every fourth of a long row."""
    walked = stage(compute(PLAIN), "thread")
    assert told(walked.steps[:10], walked, "shafts") == "1, 2, 3, 4; 1, 2, 3, 4; 1, 2."


def test_hundreds_are_left_out_where_the_ear_knows_them() -> None:
    """After dent 136 comes "dent 37"; the next hundred is told in full."""
    walked = stage(compute(make_plan(straight(210), sett=10)), "thread-and-sley")
    steps = walked.steps
    assert told(steps[136:137], walked, "short", dent_before=136) == "Shaft 1, dent 37."
    assert (
        told(steps[136:140], walked, "short", dent_before=136)
        == "Shafts 1, 2, 3, 4, dents 37 to 40."
    )
    assert told(steps[199:200], walked, "short", dent_before=199) == "Shaft 4, dent 200."
    assert told(steps[196:202], walked, "short", dent_before=196).endswith("dents 197 to 202.")


def test_a_unit_that_begins_inside_is_named_there() -> None:
    """In a whole group each part stands under its own name, and its shafts under their word."""
    walked = stage(compute(PLAIN), "thread")
    named = [
        Named(0, "block A", 1, is_new_unit_name=True),
        Named(4, "block B", 1, is_new_unit_name=True),
    ]
    assert told(walked.steps[:8], walked, "shafts", named=named) == (
        "Block A. Shafts 1, 2, 3, 4. Block B. Shafts 1, 2, 3, 4."
    )
    assert told(walked.steps[:8], walked, "all", named=named) == (
        "Block A. Ends 1 to 4: shafts 1, 2, 3, 4. Block B. Ends 5 to 8: shafts 1, 2, 3, 4."
    )
