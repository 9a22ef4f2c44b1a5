"""A walk on a disk that fills up: what was said to be taken is taken, and the weaver can leave."""

from __future__ import annotations

import re
import shutil
import subprocess
from io import StringIO
from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run
from journal_walker import STAGE, begin, state_of, step
from small_disk import mounted, needs_mount

from companion.base.errors import JournalError
from companion.devices.speech.voice import Voice
from companion.record import Journal, sessions
from companion.record.store import with_logs
from companion.session.presenter import Console, Presenter
from companion.wording import Style

if TYPE_CHECKING:
    from pathlib import Path

STEPS = 30


def _fill(disk: Path, spare: int) -> Path:
    """Leave so many bytes free; return what to remove to have them all again."""
    free = int(subprocess.check_output(["df", "-B1", "--output=avail", disk]).split()[-1])
    ballast = disk / "ballast"
    ballast.write_bytes(b"x" * (free - spare))
    return ballast


@needs_mount
def test_on_a_full_disk_the_place_can_be_asked_and_left(tmp_path: Path) -> None:
    """Every "done" that is not said to be refused is on record, and no other one is."""
    with mounted(tmp_path / "home", "1m") as home:
        run(home, "settings", "walk.ask_counts", "off")
        run(home, "thread", PLANS / "first-try.toml", "--text", lines=["stop"])
        ballast = _fill(home, 60_000)
        walk = run(home, "resume", "--text", lines=[*["done"] * STEPS, "where", "stop"])
        refused = walk.stdout.count("Not taken. ")
        taken = STEPS - refused
        assert 0 < taken < STEPS
        assert (walk.returncode, walk.stderr) == (0, "")
        assert "the disk is full" in walk.stdout
        *_, where, left = walk.stdout.splitlines()
        assert re.search(rf"\bend {taken + 1}:", where)
        assert f"{taken} of 40" in left
        ballast.unlink()
        log = run(home, "log").stdout
        assert f"step {taken} of" in log
        assert f"step {taken + 1} of" not in log
        assert f"End {taken + 1}: " in run(home, "resume", "--text", lines=["stop"]).stdout


@needs_mount
def test_a_session_opens_on_a_disk_that_is_full_already(tmp_path: Path) -> None:
    """Where she is can be asked and all of it read; what is done is taken once there is room."""
    with mounted(tmp_path / "home", "600k") as home:
        run(home, "settings", "walk.ask_counts", "off")
        run(home, "thread", PLANS / "first-try.toml", "--text", lines=["done", "done", "stop"])
        ballast = _fill(home, 0)
        walk = run(home, "resume", "--text", lines=["where", "done", "where", "stop"])
        assert (walk.returncode, walk.stderr) == (0, "")
        assert walk.stdout.count("Group 1 of 5. 6 to go in it, 38 in all.") == 2
        assert walk.stdout.count("the disk is full") == 2
        assert "2 of 40" in walk.stdout.splitlines()[-1]
        assert "step 2 of 40" in run(home, "sessions").stdout
        assert "2 of 40 steps confirmed" in run(home, "handover").stdout
        ballast.unlink()
        log = run(home, "log").stdout
        assert "step 3 of" not in log
        assert "End 3: " in run(home, "resume", "--text", lines=["stop"]).stdout


def _left_by_a_kill(folder: Path, disk: Path) -> Path:
    """Return a session on the disk with all its entries in the log beside it."""
    with begin(folder) as journal:
        journal.append(step(1))
        for each in with_logs(journal.path)[:2]:
            shutil.copy(each, disk)
        return disk / journal.path.name


@needs_mount
def test_a_full_disk_is_written_as_soon_as_it_has_room(tmp_path: Path) -> None:
    """Also after a kill no entry is lost, none is kept by halves, and others may read beside."""
    with mounted(tmp_path / "disk", "400k") as disk:
        path = _left_by_a_kill(tmp_path / "here", disk)
        ballast = _fill(disk, 0)
        assert sessions(disk)[0].position == 1
        with Journal.open(path) as journal:
            assert (journal.length, journal.was_cut_off) == (1, False)
            with pytest.raises(JournalError, match="disk is full"):
                journal.append(step(2))
            assert journal.length == 1
            ballast.unlink()
            journal.append(step(2))
            with Journal.open(path, read_only=True) as beside:
                assert beside.last_state(STAGE) == state_of(2)
            with pytest.raises(JournalError, match="already being walked on this machine since"):
                Journal.open(path)
        with Journal.open(path) as journal:
            assert (journal.length, journal.was_cut_off) == (2, False)


def test_the_voice_spares_the_name_of_the_file() -> None:
    """What is printed names the file that could not be written; a press is answered sooner."""
    printed = StringIO()
    presenter = Presenter(Console(printed), Voice(), Style())
    presenter.not_kept(JournalError("the disk is full. Free some space.", "band-1.sqlite"))
    assert printed.getvalue() == ("Not taken. band-1.sqlite: the disk is full. Free some space.\n")
    assert presenter.said == "Not taken. the disk is full. Free some space."
