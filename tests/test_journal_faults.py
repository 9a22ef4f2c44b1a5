"""Whatever happens to the file, the disk or the process, nothing acknowledged is lost."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing, contextmanager
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from journal_walker import REPOSITORY, STAGE, begin, start, state_of, step, walk_and_kill
from small_disk import mounted, needs_mount

from companion.base.errors import JournalError
from companion.record import Journal, sessions

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

KILLS = 10
NOBODY = 65534


def test_no_acknowledged_entry_is_lost_to_a_kill(tmp_path: Path) -> None:
    """After each SIGKILL every acknowledged entry is there and the walk resumes exactly."""
    chance = random.Random(20)
    with begin(tmp_path) as journal:
        path = journal.path
    ends = [walk_and_kill(path, chance.uniform(0, 0.05)).stored for _ in range(KILLS)]
    assert ends == sorted(set(ends)), "each walker must get further"
    with Journal.open(path) as journal:
        numbers = [(entry.number, entry.state) for entry in journal.entries()]
    assert numbers == [(n, state_of(n)) for n in range(1, ends[-1] + 1)]


def test_a_killed_beginning_leaves_no_half_session(tmp_path: Path) -> None:
    """Sessions begun in a loop until SIGKILL are each whole, and the next one can begin."""
    code = (
        "import sys; sys.path[:0] = ['.', 'tests']\n"
        "from pathlib import Path; from journal_walker import begin\n"
        f"while True: begin(Path({str(tmp_path)!r})).close(); print('begun', flush=True)\n"
    )
    chance = random.Random(21)
    begun = 0
    for _ in range(KILLS):
        child = subprocess.Popen(
            [sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=REPOSITORY
        )
        assert child.stdout is not None
        child.stdout.readline()
        with pytest.raises(subprocess.TimeoutExpired):
            child.wait(chance.uniform(0, 0.03))
        child.kill()
        begun += 1 + child.stdout.read().count(b"begun\n")
        child.stdout.close()
        child.wait()
    listed = sessions(tmp_path)
    assert [each for each in listed if each.fault] == []
    assert begun <= len(listed) <= begun + KILLS
    with begin(tmp_path) as journal:
        assert journal.append(step(1)).number == 1


def test_the_record_of_a_killed_walk_can_be_read_without_the_lock(tmp_path: Path) -> None:
    """Listing after a crash shows the entries that are still only in the write-ahead log."""
    with begin(tmp_path) as journal:
        path = journal.path
    child, said = start(path)
    with said:
        assert said.readline() == b"1\n"
        child.kill()
    child.wait()
    assert path.with_name(path.name + "-wal").stat().st_size > 0
    assert sessions(tmp_path)[0].position >= 1


def test_a_second_process_is_refused_and_told_who_walks(tmp_path: Path) -> None:
    """The message names this process, its host and the time; the first walk goes on."""
    code = (
        "import sys; from pathlib import Path; from companion.record import Journal\n"
        "try: Journal.open(Path(sys.argv[1]))\n"
        "except Exception as error: print(type(error).__name__, error)\n"
    )
    with begin(tmp_path) as journal:
        journal.append(step(1))
        answer = subprocess.run(
            [sys.executable, "-c", code, journal.path],
            cwd=REPOSITORY,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        assert answer.startswith("JournalError harbour-towels-1: this session is already being")
        assert f"process {os.getpid()} on {os.uname().nodename} since 20" in answer
        assert "Stop it there first" in answer
        assert journal.append(step(2)).number == 2
    with Journal.open(journal.path) as journal:
        assert journal.append(step(3)).number == 3


def test_a_worker_that_outlives_a_killed_walk_does_not_keep_the_session(tmp_path: Path) -> None:
    """A process forked by the walk, as a speech worker may be, does not carry its lock on."""
    with begin(tmp_path) as journal:
        path = journal.path
    code = (
        "import os, sys, time; from pathlib import Path; from companion.record import Journal\n"
        "journal = Journal.open(Path(sys.argv[1])); worker = os.fork()\n"
        "if not worker: print(os.getpid(), flush=True)\n"
        "time.sleep(30)\n"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", code, path], stdout=subprocess.PIPE, cwd=REPOSITORY
    )
    assert child.stdout is not None
    with child.stdout:
        worker = int(child.stdout.readline())
    child.kill()
    child.wait()
    try:
        os.kill(worker, 0)
        with Journal.open(path) as journal:
            assert journal.append(step(1)).number == 1
    finally:
        os.kill(worker, signal.SIGKILL)


def test_the_session_can_be_read_while_it_is_walked(tmp_path: Path) -> None:
    """A reader beside the walker sees each commit and can write nothing."""
    with begin(tmp_path) as journal, Journal.open(journal.path, read_only=True) as reader:
        for number in (1, 2, 3):
            journal.append(step(number))
            assert reader.last_state(STAGE) == state_of(number)
        with pytest.raises(JournalError, match="may not be written"):
            reader.append(step(4))
        assert journal.append(step(4)).number == 4


@contextmanager
def _largest_file(size_bytes: int) -> Iterator[None]:
    """Let no file of this process grow beyond the size, as a full disk would."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def _append_until_refused(journal: Journal) -> tuple[int, str]:
    """Append until the disk will not take more; return the last entry kept and the message."""
    for number in count(1):
        try:
            journal.append(step(number))
        except JournalError as refused:
            return number - 1, str(refused)
    raise AssertionError


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 400 kB."""
    with mounted(tmp_path / "disk", "400k") as folder:
        yield folder


@needs_mount
def test_a_full_disk_is_said_and_loses_nothing(small_disk: Path) -> None:
    """On a full disk the walk stops at the last entry kept; freeing space lets it go on."""
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"x" * 100_000)
    with begin(small_disk) as journal:
        last, message = _append_until_refused(journal)
        assert "the disk is full" in message
        assert journal.last_state(STAGE) == state_of(last)
        with pytest.raises(JournalError, match="full"):
            begin(small_disk, "Second warp")
        ballast.unlink()
        assert journal.append(step(last + 1)).number == last + 1
    assert [each.position for each in sessions(small_disk)] == [last + 1]


@needs_mount
def test_sessions_on_a_read_only_disk_can_be_read(small_disk: Path) -> None:
    """A stick that may not be written can still be listed; walking on it is refused plainly."""
    with begin(small_disk) as journal:
        journal.append(step(1))
    subprocess.run(["mount", "-o", "remount,ro", small_disk], check=True)
    assert [(each.position, each.fault) for each in sessions(small_disk)] == [(1, "")]
    attempts: list[Callable[[], object]] = [
        lambda: Journal.open(journal.path),
        lambda: begin(small_disk),
    ]
    for attempt in attempts:
        with pytest.raises(JournalError, match="may not be written") as refused:
            attempt()
        assert "\n" not in str(refused.value)


@pytest.fixture
def closed_folder() -> Iterator[Path]:
    """A folder that this process may read and not write, even where the tests run as root."""
    top = Path(tempfile.mkdtemp())
    with begin(top / "journals") as journal:
        journal.append(step(1))
    top.chmod(0o755)
    (top / "journals").chmod(0o555)
    journal.path.chmod(0o444)
    was = os.geteuid()
    if was == 0:
        os.seteuid(NOBODY)
    try:
        yield top / "journals"
    finally:
        os.seteuid(was)
        (top / "journals").chmod(0o755)
        shutil.rmtree(top)


def test_a_folder_without_the_right_to_write_is_said(closed_folder: Path) -> None:
    """Reading works; beginning or walking a session there names what to do."""
    listed = sessions(closed_folder)
    assert [(each.position, each.fault) for each in listed] == [(1, "")]
    with pytest.raises(JournalError, match="right to write"):
        Journal.open(listed[0].path)
    with pytest.raises(JournalError, match="right to write"):
        begin(closed_folder)


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    """A folder name that is taken by a file gives one line."""
    (tmp_path / "journals").write_text("mine")
    with pytest.raises(JournalError, match=r"journals: .* cannot be opened"):
        begin(tmp_path / "journals")
    assert sessions(tmp_path / "journals") == ()


def test_a_session_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    """Opening a name that does not exist says so and leaves no file."""
    with pytest.raises(JournalError, match="no such session"):
        Journal.open(tmp_path / "rug-1.sqlite")
    assert list(tmp_path.iterdir()) == []


def _overwrite(path: Path, start: int, content: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(start)
        file.write(content)


def _other_database(path: Path) -> None:
    path.unlink()
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE entry (number INTEGER)")


DAMAGE: dict[str, Callable[[Path], object]] = {
    "emptied": lambda path: path.write_bytes(b""),
    "cut short": lambda path: os.truncate(path, path.stat().st_size // 2),
    "some text": lambda path: path.write_text("dear diary\n" * 500),
    "header gone": lambda path: _overwrite(path, 0, bytes(100)),
    "a page of noise": lambda path: _overwrite(path, 4096, os.urandom(4096)),
    "last page gone": lambda path: _overwrite(path, path.stat().st_size - 4096, bytes(4096)),
    "another program's": _other_database,
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_session_is_listed_with_what_to_do(tmp_path: Path, kind: str) -> None:
    """A damaged record is said in one line, hides no other, and is never begun afresh."""
    begin(tmp_path, "Good rug").close()
    with begin(tmp_path) as journal:
        for number in range(1, 101):
            journal.append(step(number))
        path = journal.path
    DAMAGE[kind](path)
    content = path.read_bytes()
    listed = {each.id: each.fault for each in sessions(tmp_path)}
    assert listed["good-rug-1"] == ""
    assert listed["harbour-towels-1"].startswith("harbour-towels-1.sqlite: ")
    assert "\n" not in listed["harbour-towels-1"]
    for read_only in (False, True):
        with pytest.raises(JournalError):
            Journal.open(path, read_only=read_only)
    assert path.read_bytes() == content


def test_an_entry_that_makes_no_sense_is_named(tmp_path: Path) -> None:
    """A record changed by hand so that an entry has no known kind says which entry."""
    with begin(tmp_path) as journal:
        journal.append(step(1))
        path = journal.path
    with closing(sqlite3.connect(path)) as by_hand, by_hand:
        by_hand.execute("UPDATE entry SET kind = 'danced'")
    with (
        Journal.open(path) as journal,
        pytest.raises(JournalError, match=r"entry 1: 'danced'.*Keep this file"),
    ):
        list(journal.entries())
