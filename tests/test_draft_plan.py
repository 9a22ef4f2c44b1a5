"""A WIF file in the place of a plan: what it lacks is asked or given, and the plan is written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from front_door import PLANS, run, terminal
from test_stages_walk import lines_of

from companion.loom.compute import compute
from companion.plan.file.reader import read_plan

TWILL = Path(__file__).parent / "data" / "wif" / "twill.wif"
GIVEN = (
    "--answer", "ends_per_inch=20", "--answer", "dents_per_inch=12", "--answer", "reed_width=36 in",
)  # fmt: skip


@pytest.fixture
def draft(tmp_path: Path) -> Path:
    """Return a draft of 61 ends on 8 shafts in a folder of its own."""
    return Path(shutil.copy(PLANS / "lattice-scarf.wif", tmp_path / "lattice.wif"))


def test_what_a_draft_lacks_is_named_where_there_is_nobody_to_ask(
    draft: Path, tmp_path: Path
) -> None:
    """Commands that come through a pipe are not taken for answers, and nothing is guessed."""
    refused = run(tmp_path, "thread", draft, "--text", lines=["done"])
    assert refused.returncode == 2
    assert (
        "Add --answer ends_per_inch=NUMBER --answer dents_per_inch=NUMBER --answer "
        "reed_width=NUMBER" in refused.stderr
    )
    assert not draft.with_suffix(".toml").exists()


def test_a_draft_and_three_answers_dress_as_the_demo_plan_of_it_does(
    draft: Path, tmp_path: Path
) -> None:
    """The demo plan `lattice-scarf.toml` names the same draft, sett and reed."""
    done = run(tmp_path, "check", draft, *GIVEN)
    assert (done.returncode, done.stderr) == (0, "")
    own = compute(read_plan(draft.with_suffix(".toml")))
    demo = compute(read_plan(PLANS / "lattice-scarf.toml"))
    body = [(end.shaft, end.colour) for end in demo.ends]
    assert [(end.shaft, end.colour) for end in own.ends] == body
    assert own.sley.body == demo.sley.body
    assert own.draft.picks == demo.draft.picks


def test_centimetres_are_understood_from_the_answers(draft: Path, tmp_path: Path) -> None:
    """A sett by the centimetre makes a metric plan."""
    metric = ["ends_per_cm=8", "dents_per_10cm=50", "reed_width=70 cm", "first_end=left"]
    answers = [word for each in metric for word in ("--answer", each)]
    assert run(tmp_path, "check", draft, *answers).returncode == 0
    file = read_plan(draft.with_suffix(".toml")).file
    assert file.units == "metric"
    assert file.loom.first_end == "left"
    assert file.reed.width == 70


def test_a_plan_that_was_made_once_is_gone_by(draft: Path, tmp_path: Path) -> None:
    """The second command needs no answers, and the walk goes on where the first left it."""
    first = run(tmp_path, "thread", draft, *GIVEN, "--text", lines=["done", "done"])
    assert "End 3: shaft" in first.stdout
    again = run(tmp_path, "thread", draft, "--text", lines=["where am i"])
    assert again.returncode == 0
    assert "2 steps done" in again.stdout or "End 3" in again.stdout


def test_another_plan_of_that_name_is_left_alone(draft: Path, tmp_path: Path) -> None:
    """It is named, and how to make one for the draft is said."""
    other = shutil.copy(PLANS / "first-try.toml", draft.with_suffix(".toml"))
    before = Path(other).read_bytes()
    refused = run(tmp_path, "check", draft, *GIVEN)
    assert refused.returncode == 2
    assert "lattice.toml is another plan, not one for lattice.wif." in refused.stderr
    assert Path(other).read_bytes() == before


@pytest.mark.parametrize(
    ("text", "said"),
    [("[WIF]\n[WEAVING]\nShafts=4\n", "expected a threading"), ("\0", "expected a text file")],
)
def test_a_draft_that_cannot_be_read_writes_nothing(text: str, said: str, tmp_path: Path) -> None:
    """Its own problem is told, in the words of the reader."""
    draft = tmp_path / "broken.wif"
    draft.write_text(text, encoding="utf-8")
    refused = run(tmp_path, "check", draft, *GIVEN)
    assert refused.returncode == 2
    assert said in refused.stderr
    assert "Traceback" not in refused.stderr
    assert not draft.with_suffix(".toml").exists()


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("ends_per_inch=dense", "ends_per_inch: Expected ends in an inch, a number above 0"),
        ("wool=4", "Expected no --answer for wool: it is not asked here."),
        ("ends_per_inch", "expected KEY=VALUE"),
    ],
)
def test_an_answer_that_does_not_fit_is_one_line(
    answer: str, said: str, draft: Path, tmp_path: Path
) -> None:
    """Wrong values, names that are not asked, and no value at all."""
    refused = run(tmp_path, "check", draft, *GIVEN, "--answer", answer)
    assert refused.returncode == 2
    assert said in refused.stderr
    assert not draft.with_suffix(".toml").exists()


def test_an_answer_that_is_not_asked_is_told_before_any_question(draft: Path) -> None:
    """And one that was only not asked any more, since the weaver left, is not told as wrong."""
    shell = terminal(draft.parent, "check", draft, "--answer", "sett=20")
    shell.expect("Expected no --answer for sett: it is not asked here.")
    assert "measure" not in shell.before
    shell = terminal(draft.parent, "check", draft, "--answer", "ends_per_inch=20")
    shell.expect("Do you measure")
    shell.sendline("stop")
    shell.expect("Nothing was written, so there is no plan to go by.")
    assert "Expected" not in shell.before


def test_an_answer_that_is_not_taken_is_told(draft: Path, tmp_path: Path) -> None:
    """Where the plan was made before, and for a plan that is none's draft."""
    assert run(tmp_path, "check", draft, *GIVEN).returncode == 0
    again = run(tmp_path, "check", draft, "--answer", "ends_per_inch=24")
    assert "Sett: 20 ends per inch." in again.stdout
    assert again.stderr == (
        "lattice.toml was made before, so no --answer is taken. Change it by hand.\n"
    )
    refused = run(tmp_path, "check", draft.with_suffix(".toml"), "--answer", "ends_per_inch=24")
    assert "expected no --answer for a plan, which says all by itself." in refused.stderr


def test_a_wif_under_another_name_is_told_for_what_it_is(draft: Path, tmp_path: Path) -> None:
    """Not as a slip in TOML."""
    renamed = draft.rename(tmp_path / "lattice.txt")
    refused = run(tmp_path, "check", renamed)
    assert "this is a draft in the WIF format. Give it a name that ends in .wif" in refused.stderr


def test_in_a_terminal_the_few_things_are_asked_and_read_back(tmp_path: Path) -> None:
    """Nine questions with what Enter takes, the plan read back, and then the walk to its end."""
    draft = Path(shutil.copy(TWILL, tmp_path / "twill.wif"))
    shell = terminal(tmp_path, "thread", draft, "--text", "--lines")
    shell.expect("twill.wif is a draft of 8 ends on 4 shafts")
    for question, answer in (
        ("Do you measure", "inches"),
        ("How many ends in an inch", "20 epi"),
        ("dents to the inch does the reed have", "ten"),
        ("How wide is the whole reed", "24 in"),
        ("At which edge is end 1", ""),
        ("is thread 1 of the draft", ""),
        ("from back to front", "back to front"),
    ):
        shell.expect(question)
        shell.sendline(answer)
    shell.expect("Read back:")
    shell.expect("Ends: 8 in heddles")
    shell.expect("shall it be written")
    shell.sendline("yes")
    shell.expect("Wrote .*twill.toml")
    plan = draft.with_suffix(".toml")
    shell.expect("End 1: shaft 1, dent 1.")
    for line in lines_of(plan, ["thread-and-sley"]):
        shell.sendline(line)
    shell.expect("Threading and sleying is complete: 8 ends")


def test_the_whole_job_of_a_draft_is_walked_to_its_end(draft: Path, tmp_path: Path) -> None:
    """From winding to the first picks, as any plan is."""
    run(tmp_path, "check", draft, *GIVEN)
    lines = lines_of(draft.with_suffix(".toml"))
    walked = run(tmp_path, "walk", draft, "--text", lines=lines)
    assert walked.returncode == 0, walked.stderr
    assert "Everything this session was begun for is complete." in walked.stdout
