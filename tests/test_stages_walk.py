"""The command that walks the whole job, given lines as from a pipe."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result
from job_walker import right_command

from companion.cli.stages import walk
from companion.guide import Mode, Options, start, step
from companion.job import stage, whole_job
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan
from companion.wording.stages import TITLES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.job import StageName

PLANS = Path(__file__).parent.parent / "plans"


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Touch nothing of the user's own."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))


def run(plan: Path, *options: str, lines: Sequence[str] = ()) -> Result:
    """Return what came of walking a plan silently."""
    text = "".join(f"{line}\n" for line in lines)
    return CliRunner().invoke(walk, [str(plan), "--text", *options], input=text)


def lines_of(plan: Path, names: Sequence[StageName] = ()) -> list[str]:
    """Return the words that walk these stages, or all, of a plan to their end."""
    dressing = compute(read_plan(plan))
    words: list[str] = []
    for name in names or whole_job(dressing):
        walked = stage(dressing, name)
        state, _ = start(walked, Options())
        while state.mode is not Mode.FINISHED:
            command = right_command(state, walked)
            words.append("done" if command.number is None else f"count {command.number}")
            state = step(state, command, walked).state
    return words


@pytest.mark.parametrize(
    "name",
    ["first-try", "lattice-scarf", pytest.param("herringbone-scarf", marks=pytest.mark.long)],
)
def test_a_plan_is_walked_from_winding_to_the_first_picks(name: str) -> None:
    """One sitting, every stage in order to its totals; the usual cautions are told once."""
    plan = PLANS / f"{name}.toml"
    result = run(plan, lines=lines_of(plan))
    assert result.exit_code == 0, result.output
    dressing = compute(read_plan(plan))
    titles = [TITLES[each] for each in whole_job(dressing)]
    ends = re.findall(r"^(.*) is complete: ", result.output, flags=re.MULTILINE)
    assert [end.lower() for end in ends] == titles
    assert "Everything this session was begun for is complete." in result.output
    assert result.output.count("Before you begin:") == 1
    assert result.output.count("A loaded beam turns with force") == 1


def test_the_job_can_begin_with_a_later_stage() -> None:
    """A warp that is wound already begins in the raddle."""
    result = run(PLANS / "first-try.toml", "--from", "raddle", lines=["done", "stop"])
    assert result.exit_code == 0, result.output
    assert result.output.startswith("Spreading in the raddle.")
    assert "Section 2: 5 ends." in result.output


def test_one_stage_can_be_walked_alone() -> None:
    """After its end there is nothing more to do."""
    plan = PLANS / "first-try.toml"
    result = run(plan, "--only", "tie-up", lines=lines_of(plan, ["tie-up"]))
    assert result.exit_code == 0, result.output
    assert "Tying up the treadles is complete: 12 ties in 6 groups." in result.output
    assert "Everything this session was begun for is complete." in result.output


def test_a_walk_goes_on_in_the_stage_it_was_left_in() -> None:
    """Stopped in the second stage, the same command goes on there."""
    plan = PLANS / "first-try.toml"
    wound = lines_of(plan, ["wind"])
    assert "Section 3: 5 ends." in run(plan, lines=[*wound, "done", "done", "stop"]).output
    again = run(plan, lines=["stop"]).output
    assert again.startswith("Raddle, group 1, ")
    assert "2 sections so far.\nSection 3: 5 ends." in again


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (("--only", "raddle"), "raddle is not a stage of this plan. Its stages are wind, heddles,"),
        (("--from", "raddle"), "raddle is not a stage of this plan. Its stages are wind, heddles,"),
        (("--from", "weave"), "'weave' is not one of"),
        (("--from", "beam", "--only", "beam"), "Give --from or --only, not both."),
    ],
)
def test_a_stage_that_is_not_there_is_told_with_those_that_are(
    options: tuple[str, ...], expected: str
) -> None:
    """A front-to-back plan has no raddle; the answer is one line and exit code 2."""
    result = run(PLANS / "herringbone-scarf.toml", *options)
    assert result.exit_code == 2
    assert expected in " ".join(result.output.split())
