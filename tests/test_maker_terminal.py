"""The plan maker in a terminal, answered as people answer."""

from __future__ import annotations

import re
import shutil
import signal
from typing import TYPE_CHECKING

import pexpect
import pytest
from front_door import PLANS, terminal

from companion.loom.compute import compute
from companion.maker.interview import READ_BACK
from companion.plan.file.reader import read_plan

if TYPE_CHECKING:
    from pathlib import Path

ASKED = re.compile(r"([^\r\n]*)\[[^\]\r\n]*\]\r\n")
"""A question with the answer that Enter takes."""


def answered(home: Path, plan: Path, answers: dict[str, list[str]]) -> str:
    """Answer each question by a part of it, with Enter where none fits; return what was told."""
    child = terminal(home, "new", plan)
    told = ""
    while child.expect([ASKED, pexpect.EOF]) == 0:
        told += f"{child.before}{child.after}"
        assert child.match is not None
        asked = child.match[1]
        given = next((left for part, left in answers.items() if part in asked and left), [""])
        child.sendline(given.pop(0))
    child.close()
    assert child.exitstatus == 0
    return told + str(child.before)


def test_towels_as_a_person_would_say_them(tmp_path: Path) -> None:
    """Every answer in its own words; what is wrong is told and mended, and one thing changed."""
    plan = tmp_path / "towels.toml"
    told = answered(
        tmp_path,
        plan,
        {
            "called": ["Towels"],
            "measure": ["inches"],
            "How many shafts": ["help", "four"],
            "threading": ["tabby", "a point twill"],
            "number of ends, or": ["the width"],
            "wide is the warp": ["20 inches"],
            "ends in an inch": ["15 epi"],
            "dents in an inch": ["a 10-dent reed"],
            "whole reed": ["a yard"],
            "dress the loom": ["back to front"],
            "thread and sley": ["both at once"],
            "heddles": ["60 each", "120 each"],
            "floating": ["one each side"],
            "colours": ["20 white borders, red middle", "20 white borders, blue middle"],
            "written?": ["change the colours", "what?", "yes please"],
        },
    )
    assert "All that hang in the loom" in told, "help is about the question"
    assert "Answer straight 4 or point 4 if that is meant" in told
    assert "short" in told
    assert told.index(READ_BACK) < told.index("Wrote ")
    assert told.count("Sley, from the right edge") == told.count(READ_BACK) == 2
    dressing = compute(read_plan(plan))
    assert len(dressing.ends) == 300
    assert [end.colour for end in dressing.ends][18:22] == ["white", "white", "blue", "blue"]
    assert [row.have for row in dressing.heddles] == [120] * 4


def test_answers_are_offered_again_where_it_broke_off(tmp_path: Path) -> None:
    """A kill takes none of them, and once the plan is written they are forgotten."""
    plan = tmp_path / "scarf.toml"
    child = terminal(tmp_path, "new", plan)
    for typed in ("Anna's scarf", "metric"):
        child.expect(ASKED)
        child.sendline(typed)
    child.expect("How many shafts")
    child.kill(signal.SIGKILL)
    child.close()
    told = answered(tmp_path, plan, {"shafts": ["rest"]})
    assert "What you answered before is in brackets." in told
    assert "[Anna's scarf]" in told
    assert plan.read_text().startswith("# Made by")
    assert 'units = "metric"' in plan.read_text()
    assert not list((tmp_path / "answers").iterdir())


def test_kept_answers_that_cannot_be_read_are_passed_over(tmp_path: Path) -> None:
    """They only save typing."""
    for content in ("", "[1]", "{", '{"units": "feet", "shafts": 7, "title": "\\u001b[2J"}'):
        (tmp_path / "answers").mkdir(exist_ok=True)
        (tmp_path / "answers" / "scarf.json").write_text(content)
        child = terminal(tmp_path, "new", tmp_path / "scarf.toml")
        child.expect(ASKED)
        child.sendline("stop")
        child.expect("Nothing was written")
        child.expect(pexpect.EOF)
        child.close()
        assert child.exitstatus == 0


def test_an_interrupt_leaves_in_plain_words(tmp_path: Path) -> None:
    """As everywhere else, one line says what came of it; nothing is written."""
    child = terminal(tmp_path, "new", tmp_path / "scarf.toml")
    child.expect(ASKED)
    child.sendintr()
    child.expect("Interrupted. What was finished is kept, nothing else.\r\n")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert not (tmp_path / "scarf.toml").exists()


def test_a_draft_of_wif_gives_the_threading(tmp_path: Path) -> None:
    """What the file holds is not asked, and the plan names it."""
    shutil.copy(PLANS / "lattice-scarf.wif", tmp_path)
    plan = tmp_path / "scarf.toml"
    told = answered(
        tmp_path,
        plan,
        {
            "measure": ["cm"],
            "How many shafts": ["8"],
            "threading": ["lattice-scarf.wif"],
            "10 centimetres": ["40/10"],
            "thread 1": ["left hand"],
        },
    )
    assert "Which shafts is each treadle tied to?" not in told
    dressing = compute(read_plan(plan))
    assert len(dressing.ends) == 61
    assert dressing.sley.pattern == (1, 1, 1, 1) or sum(dressing.sley.counts) == 61


@pytest.mark.long
def test_a_beam_in_sections_is_asked_for_and_read_back(tmp_path: Path) -> None:
    """The one question leads to three; what they need is told first, and the plan can be walked."""
    plan = tmp_path / "blanket.toml"
    told = answered(
        tmp_path,
        plan,
        {
            "called": ["Blanket"],
            "finished piece": ["none", "60 inches"],
            "more to this warp": ["help", "sections", "back", "a sectional beam"],
            "once around": ["a yard"],
            "wide is a section": ["2"],
            "sections does": ["twenty"],
        },
    )
    assert "Expected the length of the pieces for sections, not" in told
    assert "Sections: 20" in " ".join(told.split())
    assert told.index(READ_BACK) < told.index("Wrote ")
    dressing = compute(read_plan(plan))
    assert dressing.sections is not None
    assert dressing.sections.empty_before is not None
