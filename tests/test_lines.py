"""A line is taken whole or not at all, and no name that is typed acts in a terminal."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

import pytest
from front_door import COMMAND, PLANS, environment, run
from hypothesis import given
from hypothesis import strategies as st

from companion.base.lines import MOST, TOO_LONG, read_lines

FIRST_TRY = PLANS / "first-try.toml"


@given(st.lists(st.text("ab ", max_size=1200), max_size=6), st.booleans())
def test_lines_are_taken_whole_or_not_at_all(lines: list[str], has_end: bool) -> None:  # noqa: FBT001 - drawn
    """Of a line that is too long not even its tail is taken."""
    text = "\n".join(lines) + ("\n" if has_end else "")
    expected = [line if len(line) <= MOST else None for line in text.splitlines()]
    assert list(read_lines(io.StringIO(text))) == expected


def test_the_tail_of_a_long_line_is_not_obeyed(tmp_path: Path) -> None:
    """A walk passes the line over and says so; so does the making of a plan."""
    long = "x" * (MOST - 2) + " stop"
    walked = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", long, "done"])
    assert TOO_LONG in walked.stdout
    assert "End 3: " in walked.stdout
    plan = tmp_path / "new.toml"
    made = run(tmp_path, "new", plan, lines=["y" * 2 * MOST + "stop", "Blue scarf", "rest"])
    assert f"{TOO_LONG}\nWhat is this plan called?" in made.stdout
    assert made.returncode == 0
    assert "Blue scarf" in plan.read_text(encoding="utf-8")


def test_nothing_typed_acts_in_the_log(tmp_path: Path) -> None:
    """Escape sequences in a weaver's name and in a command are gone from log and CSV."""
    name, words = "\x1b[31mAna\u202e", "do\x1b]0;mine\x07ne \u2066"
    walked = run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", name, lines=[words])
    logged = run(tmp_path, "log").stdout
    assert '"done", line by Ana' in logged
    for text in (walked.stdout, logged, run(tmp_path, "export").stdout):
        assert all(letter.isprintable() or letter == "\n" for letter in text)
    refused = run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "A" * 61)
    assert refused.returncode == 2
    assert "at most 60 letters" in refused.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is full")
def test_output_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """One line and the code of every expected mistake, not a fault inside the companion."""
    with Path("/dev/full").open("w") as full:
        told = subprocess.run(
            [*COMMAND, "check", FIRST_TRY],
            stdout=full,
            stderr=subprocess.PIPE,
            env=environment(tmp_path),
            text=True,
            check=False,
        )
    assert (told.returncode, told.stderr) == (
        2,
        "The output cannot be written: No space left on device.\n",
    )
