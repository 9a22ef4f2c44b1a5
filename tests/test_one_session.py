"""Threading alone and the whole job are one session: what is done is done, whichever came first."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from front_door import PLANS, run, terminal
from hypothesis import given
from hypothesis import strategies as st
from test_stages_walk import lines_of

from companion.job import StageName, are_at_odds, counted_as_done, ordered, whole_job
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

FIRST_TRY = PLANS / "first-try.toml"
DRESSING = compute(read_plan(FIRST_TRY))
BEFORE = (
    "Taken as done: winding the warp, spreading in the raddle, winding on the warp beam and making "
    "the heddles ready."
)


def _sessions(home: Path) -> list[str]:
    return sorted(path.name for path in (home / "journals").glob("*.sqlite"))


def _say(child: pexpect.spawn[str], words: str, expected: str) -> None:
    child.sendline(words)
    child.expect_exact(expected)


def test_the_whole_job_goes_on_where_threading_was_left(tmp_path: Path) -> None:
    """In a terminal, in the middle of a group; then the resumed session walks the rest too."""
    child = terminal(tmp_path, "thread", FIRST_TRY, "--text", "--lines")
    child.expect_exact("End 1: ")
    for end in range(2, 4):
        _say(child, "done", f"End {end}: ")
    _say(child, "stop", "Your place is kept")
    child.wait()
    child = terminal(tmp_path, "walk", FIRST_TRY, "--text", "--lines")
    child.expect_exact(BEFORE)
    child.expect_exact("Threading, group ")
    child.expect_exact("End 3: ")
    _say(child, "done", "End 4: ")
    _say(child, "stop", "Your place is kept")
    child.wait()
    assert _sessions(tmp_path) == ["first-try-a-1.sqlite"]
    assert "Walked from here on: threading and sleying, tying on at the front" in _log(tmp_path)
    rest = lines_of(FIRST_TRY, ("thread-and-sley",))[3:]
    told = run(tmp_path, "resume", "--text", lines=rest).stdout
    assert BEFORE not in told
    assert "Threading and sleying is complete" in told
    assert "Tying on at the front." in told


def _log(home: Path) -> str:
    return run(home, "log").stdout


def test_threading_that_is_done_is_done(tmp_path: Path) -> None:
    """The whole job after it begins with tying on, and when all is done a new session begins."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=lines_of(FIRST_TRY, ("thread-and-sley",)))
    after = whole_job(DRESSING)[-3:]
    told = run(tmp_path, "walk", FIRST_TRY, "--text", lines=lines_of(FIRST_TRY, after)).stdout
    assert told.startswith(f"{BEFORE}\nTying on at the front.")
    assert "End 1: " not in told
    assert "Everything this session was begun for is complete." in told
    assert len(_sessions(tmp_path)) == 1
    assert run(tmp_path, "handover").returncode == 0
    again = run(tmp_path, "walk", FIRST_TRY, "--text", lines=["stop"]).stdout
    assert again.startswith("Winding the warp")
    assert len(_sessions(tmp_path)) == 2


def test_threading_alone_takes_up_the_place_of_the_whole_job(tmp_path: Path) -> None:
    """The job was begun with the threading; it goes on in it, and back in the job after it."""
    begun = ["done", "done", "stop"]
    run(tmp_path, "walk", FIRST_TRY, "--from", "thread-and-sley", "--text", lines=begun)
    told = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "stop"]).stdout
    assert "End 3: shaft 3, dent 3." in told
    assert "End 4: " in run(tmp_path, "walk", FIRST_TRY, "--text", lines=["stop"]).stdout
    assert len(_sessions(tmp_path)) == 1


def test_what_is_wanted_outright_is_walked(tmp_path: Path) -> None:
    """Winding by its own name is not taken for done, though threading is begun."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "stop"])
    told = run(tmp_path, "walk", FIRST_TRY, "--only", "wind", "--text", lines=["stop"]).stdout
    assert told.startswith("Winding the warp")
    assert len(_sessions(tmp_path)) == 1


def test_other_passes_over_the_warp_are_another_session(tmp_path: Path) -> None:
    """Threading alone, where threading and sleying together was begun, begins anew."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "stop"])
    run(tmp_path, "thread", FIRST_TRY, "--text", "--separate", lines=["done", "stop"])
    assert len(_sessions(tmp_path)) == 2


@given(st.lists(st.sampled_from(get_args(StageName)), unique=True))
def test_nothing_counts_as_done_that_was_begun_or_comes_after(begun: list[StageName]) -> None:
    """For any stages begun: what counts as done lies before one of them, or is the same pass."""
    job = whole_job(DRESSING)
    done = counted_as_done(DRESSING, job, begun)
    order = ordered(DRESSING, get_args(StageName))
    passes = {"thread", "sley", "thread-and-sley"}
    assert not set(done) & set(begun)
    for name in set(done) - passes:
        later = {each for each in begun if each in order and order.index(each) > order.index(name)}
        assert later - {"heddles", "tie-up"}
    only = counted_as_done(DRESSING, job, begun, is_whole=False)
    assert set(only) <= passes
    assert not are_at_odds(job, begun)
