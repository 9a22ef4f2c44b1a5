"""Beginning on a loom that is half threaded: what stands before is taken over, not confirmed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run

if TYPE_CHECKING:
    from pathlib import Path

FIRST_TRY = PLANS / "first-try.toml"


def test_a_walk_begins_at_an_end_of_the_weavers(tmp_path: Path) -> None:
    """In the middle of a group; the group's count is that of the whole group."""
    lines = [*["done"] * 4, "8", "look at group 1", "1 2 3 4 1 2 3 4", "where am i", "stop"]
    walked = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", "13", lines=lines)
    assert walked.returncode == 0, walked.stderr
    assert "Taken as done: ends 1 to 12." in walked.stdout
    assert "End 13: shaft 1, dent 13." in walked.stdout
    assert "Group 3" in walked.stdout
    assert "As planned: ends 1 to 8." in walked.stdout
    assert "Taken as done: ends 1 to 12." in run(tmp_path, "log").stdout
    assert "step 16 of 40" in run(tmp_path, "sessions").stdout
    assert run(tmp_path, "handover").returncode == 0


def test_groups_that_were_only_taken_over_are_not_told_as_counted(tmp_path: Path) -> None:
    """Going back before the beginning opens them, and they are counted for the first time."""
    walk = ("thread", FIRST_TRY, "--text", "--from", "25")
    lines = [*["done"] * 8, "8", "rewind 10", "no", "rewind 20", "no", "rewind 17", "no"]
    told = run(tmp_path, *walk, lines=[*lines, "rewind 1", "yes", "stop"]).stdout
    asked = [line for line in told.splitlines() if line.startswith("Go back to")]
    assert [line.removesuffix(" Say yes or no to that.") for line in asked] == [
        "Go back to end 10? That takes back 23 steps and opens 3 groups, 1 of them counted.",
        "Go back to end 20? That takes back 13 steps and opens 2 groups, 1 of them counted.",
        "Go back to end 17? That takes back 16 steps and opens 2 groups, 1 of them counted.",
        "Go back to end 1? That takes back 32 steps and opens 4 groups, 1 of them counted.",
    ]
    assert "Back 32 steps. Count from group 1 on." in told
    new = run(tmp_path, *walk, "--new", lines=["rewind 20", "no", "stop"]).stdout
    assert "Go back to end 20? That takes back 5 steps and opens 1 group. Say" in new


def test_a_walk_that_begins_within_a_stripe_names_its_colour(tmp_path: Path) -> None:
    """Whoever begins at an end or a pick has heard no colour yet."""
    at = ("--text", "--from", "60")
    towels = PLANS / "striped-towels.toml"
    threaded = run(tmp_path, "thread", towels, *at, lines=["stop"]).stdout
    woven = run(tmp_path, "weave", towels, *at, lines=["stop"]).stdout
    assert "White. End 60: shaft" in threaded
    assert "White. Pick 60: treadle 2." in woven


def test_the_place_of_a_session_under_way_holds(tmp_path: Path) -> None:
    """Where a walk was begun it goes on; beginning elsewhere needs a new one."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "stop"])
    refused = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", "13")
    assert refused.returncode == 2
    assert "is under way" in refused.stderr
    assert len(refused.stderr.splitlines()) == 1
    fresh = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", "13", "--new", lines=["stop"])
    assert "Taken as done: ends 1 to 12." in fresh.stdout


@pytest.mark.parametrize("end", ["0", "41", "many"])
def test_an_end_that_is_not_there_is_told(tmp_path: Path, end: str) -> None:
    """One line, and no session is begun."""
    refused = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", end)
    assert refused.returncode == 2
    assert "Traceback" not in refused.stderr
    assert not list(tmp_path.glob("journals/*.sqlite"))


def test_whoever_has_walked_before_is_told_less(tmp_path: Path) -> None:
    """A weaver's first session tells how to get help; her next begins in one breath, another's
    not."""
    walk = ("thread", FIRST_TRY, "--text", "--new", "--weaver")
    first = run(tmp_path, *walk, "Ana", lines=["stop"]).stdout
    assert 'Say "tell everything" for more' in first
    later = run(tmp_path, *walk, "Ana", lines=["stop"]).stdout
    assert "from the right after 100 dents, shaft 1 in front." in later
    assert "for more" not in later
    assert "for more" in run(tmp_path, *walk, "Berta", lines=["stop"]).stdout


def test_a_later_stage_of_the_job_begins_within(tmp_path: Path) -> None:
    """The same for any stage of a walk: threading at an end, the raddle at a section."""
    at = ["--from", "thread-and-sley", "--at", "13"]
    told = run(tmp_path, "walk", FIRST_TRY, "--text", *at, lines=["stop"]).stdout
    assert "Taken as done: ends 1 to 12." in told
    assert "End 13: shaft 1, dent 13." in told
    section = ["--only", "raddle", "--at", "3", "--new"]
    told = run(tmp_path, "walk", FIRST_TRY, "--text", *section, lines=["stop"]).stdout
    assert "Taken as done: sections 1 and 2." in told
    alone = run(tmp_path, "walk", FIRST_TRY, "--text", "--at", "13")
    assert (alone.returncode, "--from or --only" in alone.stderr) == (2, True)
    beyond = run(tmp_path, "walk", FIRST_TRY, "--text", *at[:-1], "41", "--new")
    assert beyond.stderr.startswith("Expected end 1 to 40 to begin at, not 41.")


def test_a_cloth_is_woven_on_from_any_pick(tmp_path: Path) -> None:
    """Woven up to it elsewhere; beyond the last pick, or on a cloth under way, it is refused."""
    weave = ("weave", FIRST_TRY, "--text")
    told = run(tmp_path, *weave, "--from", "13", lines=["done", "back", "stop"]).stdout
    assert "Taken as done: picks 1 to 12." in told
    assert told.index("Pick 13: treadle 1.") < told.index("Pick 14: treadle 2.")
    beyond = run(tmp_path, *weave, "--from", "41", "--new")
    assert beyond.stderr.startswith("Expected pick 1 to 40 to begin at, not 41.")
    assert "is under way" in run(tmp_path, *weave, "--from", "3").stderr


def test_what_was_taken_over_is_counted_group_by_group(tmp_path: Path) -> None:
    """Groups taken over stand as not counted, until each is looked at and its count is right."""
    rest = ["done"] * 4 + ["8"]
    rest += [*["done"] * 8, "8"] * 3
    looked = ["look at group 1", "7", "done", "look at group 1", "8"]
    walked = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", "13", lines=[*looked, *rest])
    assert "Threading and sleying is complete" in walked.stdout
    assert "Not counted" not in walked.stdout
    fresh = run(tmp_path, "thread", FIRST_TRY, "--text", "--from", "13", "--new", lines=rest)
    assert "Not counted: 1 group." in fresh.stdout
