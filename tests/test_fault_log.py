"""The file that a fault is reported from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from front_door import PLANS, run, run_program

from companion.cli import health
from companion.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

FIRST_TRY = PLANS / "first-try.toml"


def test_refused_words_are_logged_and_the_doctor_names_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was refused, and why, stands in the file, without what acts in a terminal.

    Of the doctor only this line is asked for; tests/test_front_door.py has it print all.
    """
    log = tmp_path / "faults.log"
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    told = health.CHECKS["Fault log"]
    assert told(Settings()) == ("works", f"Nothing has gone wrong yet: {log}")
    assert not log.exists()
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "hul\x1b[31mlo"])
    (line,) = log.read_text(encoding="utf-8").splitlines()
    assert "refused, line: " in line
    assert line.isprintable()
    assert told(Settings()) == ("works", f"Send it with a report of a fault: {log}")


def test_an_error_nobody_foresaw_is_told_in_a_line_and_logged_whole(tmp_path: Path) -> None:
    """The weaver reads one line that names the file; the file holds where it happened."""
    code = (
        "import companion.cli as c\n"
        "def broken(): raise ZeroDivisionError('by hand')\n"
        "c.group.add_command(c.click.command(name='thread')(broken))\n"
        "c.Commands.get_command = lambda self, _, name: self.commands[name]\n"
        "import sys; sys.argv = ['companion', 'thread']; c.main()\n"
    )
    ended = run_program(tmp_path, code)
    log = tmp_path / "faults.log"
    assert ended.returncode == 70
    assert ended.stderr == (
        "Something went wrong inside the companion (ZeroDivisionError: by hand). The details are "
        f"in {log}. Every step you confirmed is kept: companion resume.\n"
    )
    assert "in broken" in log.read_text(encoding="utf-8")


def test_a_thread_that_ends_by_an_error_is_told_in_a_line(tmp_path: Path) -> None:
    """No traceback on the terminal while the weaver works; it stands in the file."""
    code = (
        "import threading; from companion.base import fault_log; fault_log.begin()\n"
        "def broken(): raise ZeroDivisionError('by hand')\n"
        "thread = threading.Thread(target=broken); thread.start(); thread.join()\n"
    )
    ended = run_program(tmp_path, code)
    assert ended.returncode == 0
    assert ended.stderr.count("\n") == 1
    assert str(tmp_path / "faults.log") in ended.stderr
    assert "in broken" in (tmp_path / "faults.log").read_text(encoding="utf-8")


def test_a_log_that_cannot_be_written_stops_nothing(tmp_path: Path) -> None:
    """A folder in its place is no reason for a walk to end, nor for a line about it."""
    (tmp_path / "faults.log").mkdir()
    walk = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["hullo", "done"])
    assert (walk.returncode, walk.stderr) == (0, "")
    assert "End 2: " in walk.stdout


def test_the_doctor_says_that_the_log_cannot_be_written_and_how_to_mend_it(tmp_path: Path) -> None:
    """A file in the place of its folder, then a folder in the place of the log."""
    home = tmp_path / "home"
    home.touch()
    assert _fault_log_line(home) == (
        f"Fault log: missing. {home} cannot be written: File exists. "
        "Set COMPANION_HOME to a folder of yours."
    )
    home.unlink()
    log = home / "faults.log"
    log.mkdir(parents=True)
    assert _fault_log_line(home) == (
        f"Fault log: missing. {log} cannot be written: Is a directory. Move it somewhere else."
    )


def _fault_log_line(home: Path) -> str:
    lines = run(home, "doctor").stdout.splitlines()
    (line,) = [line for line in lines if line.startswith("Fault log: ")]
    return line


def test_the_file_stays_small(tmp_path: Path) -> None:
    """Ten thousand lines leave two files of at most 200 kB."""
    code = (
        "import logging; from companion.base import fault_log; fault_log.begin()\n"
        "for n in range(10_000): logging.getLogger('companion.x').info('line %d of many', n)\n"
    )
    assert run_program(tmp_path, code).returncode == 0
    sizes = {file.name: file.stat().st_size for file in tmp_path.iterdir()}
    assert sizes.keys() == {"faults.log", "faults.log.1"}
    assert max(sizes.values()) <= 200_000
