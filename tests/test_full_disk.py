"""A walk on a disk that fills up: what was said to be taken is taken, and the weaver can leave."""

from __future__ import annotations

import re
import subprocess
from io import StringIO
from typing import TYPE_CHECKING

from front_door import PLANS, run
from small_disk import mounted, needs_mount

from companion.base.errors import JournalError
from companion.devices.speech.voice import SilentVoice
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


def test_the_voice_spares_the_name_of_the_file() -> None:
    """What is printed names the file that could not be written; a press is answered sooner."""
    printed = StringIO()
    presenter = Presenter(Console(printed), SilentVoice(), Style())
    presenter.not_kept(JournalError("the disk is full. Free some space.", "band-1.sqlite"))
    assert printed.getvalue() == ("Not taken. band-1.sqlite: the disk is full. Free some space.\n")
    assert presenter.said == "Not taken. the disk is full. Free some space."
