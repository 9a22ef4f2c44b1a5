"""The cautions: whole once for each weaver, then one sentence, and whole again when asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner

from companion.cli import demo, stages, walking
from companion.record import default_folder, sessions
from companion.record.shelf import put_away
from companion.wording.cautions import CAUTIONS, DANGERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import click

PLANS = Path(__file__).parent.parent / "plans"
FIRST_TRY = str(PLANS / "first-try.toml")
REMINDER = "Feet on the floor, shoulders down"
AGAIN = 'Say "cautions" to hear them all.'


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Touch nothing of the user's own."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))


def heard(command: click.Command, *arguments: str, lines: Sequence[str] = ("stop",)) -> str:
    """Return what a walk printed that was left after these lines."""
    text = "".join(f"{line}\n" for line in lines)
    result = CliRunner().invoke(command, [*arguments, "--text"], input=text)
    assert result.exit_code == 0, result.output
    return result.output


def test_each_weaver_hears_them_whole_in_her_first_session() -> None:
    """Then one sentence that says how to hear them all; of hooks she hears at their moment."""
    first = heard(walking.thread, FIRST_TRY, "--new")
    assert (CAUTIONS in first, AGAIN in first) == (True, False)
    later = heard(walking.thread, FIRST_TRY, "--new")
    assert (CAUTIONS in later, REMINDER in later, AGAIN in later) == (False, True, True)
    assert "Lay hooks and scissors off the bench, with their points covered." in later
    for name, is_whole in (("Ana", True), ("Ana", False), ("Ben", True)):
        told = heard(walking.thread, FIRST_TRY, "--new", "--weaver", name)
        assert ((CAUTIONS in told), (REMINDER in told)) == (is_whole, not is_whole)


def test_each_is_said_once_when_all_are_asked_for() -> None:
    """The hooks of threading are among the general ones."""
    told = heard(walking.thread, FIRST_TRY, lines=("done", "cautions", "stop")).partition("End 2")[
        2
    ]
    assert CAUTIONS in told
    assert told.casefold().count("hooks") == 1


def test_a_session_put_away_is_not_forgotten() -> None:
    """Who puts each finished session away is not told all of it every time."""
    heard(walking.thread, FIRST_TRY)
    put_away(sessions(default_folder())[0].path)
    assert CAUTIONS not in heard(walking.thread, FIRST_TRY)


def test_who_takes_a_session_over_is_told_once() -> None:
    """Whoever is new at the loom hears them, in the middle too; whoever comes back does not."""
    heard(walking.thread, FIRST_TRY, "--weaver", "Ana", lines=["done", "stop"])
    told = [heard(walking.resume, "--weaver", name) for name in ("Ben", "Ana", "Ben")]
    assert [CAUTIONS in each for each in told] == [True, False, False]


def test_a_trial_without_a_loom_has_one_sentence_and_counts_for_none() -> None:
    """The demo is short; the first session at a loom tells all of them."""
    told = heard(demo.demo, lines=["cautions", "stop"])
    assert told.index(REMINDER) < told.index(CAUTIONS)
    assert CAUTIONS in heard(walking.thread, FIRST_TRY, "--new")
    assert CAUTIONS not in heard(walking.thread, FIRST_TRY, "--new")


def test_weaving_has_its_own_whole_once_for_each_weaver() -> None:
    """The first time its own tell how to sit and rest, after the others of the usual ones; later
    one sentence holds both."""
    weaving_caution = next(text for text in DANGERS.values() if "Throwing and treading" in text)
    first = heard(stages.weave, FIRST_TRY)
    others = CAUTIONS[CAUTIONS.index("ay hooks") :]
    assert (f"Before you begin: l{others}\n{weaving_caution}" in first) is True
    assert "shoulders down" in weaving_caution
    assert CAUTIONS in heard(stages.weave, FIRST_TRY, "--new", lines=["cautions", "stop"])
    later = heard(stages.weave, FIRST_TRY, "--new")
    assert (CAUTIONS in later, weaving_caution in later, later.count(AGAIN)) == (False, False, 1)
    assert "shoulders down" in later


@pytest.mark.parametrize("words", ["cautions", "read me the cautions", "!"])
def test_asked_for_they_are_told_whole_with_those_of_the_stage(words: str) -> None:
    """And the step in hand after them, which nothing has changed."""
    beam = heard(stages.walk, FIRST_TRY, "--from", "beam", lines=[words, "stop"])
    told = beam.rpartition(CAUTIONS)[2].splitlines()
    assert told[1].startswith("A loaded beam turns with force")
    assert told[2].startswith("Close the raddle")
    assert "0 of" in told[3]
