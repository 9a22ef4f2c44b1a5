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
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from journal_walker import REPOSITORY, STAGE, begin, start, state_of, step, walk_and_kill
from small_disk import mounted, needs_mount
from warm_start import start_program

from companion.base.errors import JournalError
from companion.record import Journal, sessions
from companion.record.entry import COLUMNS, row_of
from companion.record.store import connect, insert

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
        child, said = start_program(code)
        with said:
            said.readline()
            with pytest.raises(subprocess.TimeoutExpired):
                child.wait(chance.uniform(0, 0.03))
            child.kill()
            begun += 1 + said.read().count(b"begun\n")
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
    """The message names who, where, since when and what to do; the first walk goes on."""
    code = (
        "import sys; from pathlib import Path; from companion.record import Journal\n"
        "try: Journal.open(Path(sys.argv[1]))\n"
        "except Exception as error: print(type(error).__name__, error)\n"
    )
    with begin(tmp_path) as journal:
        journal.weaver = "Ana"
        journal.append(step(1))
        answer = subprocess.run(
            [sys.executable, "-c", code, journal.path],
            cwd=REPOSITORY,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        assert answer.startswith("JournalError harbour-towels-1: this session is already being")
        assert "walked by Ana on this machine since " in answer
        assert f"(process {os.getpid()}). Say stop there, then try again." in answer
        assert f"end it: kill {os.getpid()}." in answer
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
    """A folder name that is taken by a file gives one line, which tells where it is."""
    (tmp_path / "journals").write_text("mine")
    with pytest.raises(JournalError, match=rf"^{tmp_path}/journals: .* cannot be opened"):
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


def _pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


DAMAGE: dict[str, Callable[[Path], object]] = {
    "emptied": lambda path: path.write_bytes(b""),
    "cut short": lambda path: os.truncate(path, path.stat().st_size // 2),
    "some text": lambda path: path.write_text("dear diary\n" * 500),
    "header gone": lambda path: _overwrite(path, 0, bytes(100)),
    "a page of noise": lambda path: _overwrite(path, 4096, os.urandom(4096)),
    "last page gone": lambda path: _overwrite(path, path.stat().st_size - 4096, bytes(4096)),
    "another program's": _other_database,
    "a pipe that nobody fills": _pipe,
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
    content = path.is_file() and path.read_bytes()
    listed = {each.id: each.fault for each in sessions(tmp_path)}
    assert listed["good-rug-1"] == ""
    assert listed["harbour-towels-1"].startswith("harbour-towels-1.sqlite: ")
    assert "\n" not in listed["harbour-towels-1"]
    for read_only in (False, True):
        with pytest.raises(JournalError):
            Journal.open(path, read_only=read_only)
    assert (path.is_file() and path.read_bytes()) == content


def _by_hand(path: Path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(path)) as plain, plain:
        plain.execute(statement, values)


def test_an_entry_changed_by_hand_is_named(tmp_path: Path) -> None:
    """Whatever of an entry is changed, taken out or moved, the next opening says which entry."""
    with begin(tmp_path) as journal:
        for number in (1, 2, 3):
            journal.append(step(number))
        path = journal.path
    content = path.read_bytes()
    for change in (
        "UPDATE entry SET position = 1 WHERE number = 2",
        "UPDATE entry SET state = NULL WHERE number = 2",
        "UPDATE entry SET stage = 'sley' WHERE number = 2",
        "UPDATE entry SET seal = 'x' WHERE number = 2",
        "UPDATE entry SET words = CAST(words AS BLOB) WHERE number = 2",
        "DELETE FROM entry WHERE number = 2",
    ):
        path.write_bytes(content)
        _by_hand(path, change)
        for read_only in (True, False):
            with pytest.raises(JournalError, match=r"entry 2 was changed or is missing"):
                Journal.open(path, read_only=read_only)
    path.write_bytes(content)
    _by_hand(path, "UPDATE session SET plan_text = replace(plan_text, 'H', 'h')")
    with pytest.raises(JournalError, match="first page was changed"):
        Journal.open(path)
    assert "first page was changed" in sessions(tmp_path)[0].fault


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("kind", "danced"),
        ("source", "moon"),
        ("at", "yesterday"),
        ("at", "0001-01-01T00:00:00+00:00"),
        ("position", 10**18),
        ("state", b"7"),
        ("state", '"\\u001b" and no end'),
        ("events", "{}"),
        ("events", "[" * 100_000),
    ],
)
def test_an_entry_that_makes_no_sense_is_named(tmp_path: Path, name: str, value: object) -> None:
    """A record forged with a fitting seal, whose entry no companion would write, is refused."""
    with begin(tmp_path) as journal:
        path = journal.path
    row = list(row_of(replace(step(1), number=1)))
    row[COLUMNS.index(name)] = value  # type: ignore[call-overload]
    with closing(connect(path, mode="rw")) as connection:
        insert(connection, [tuple(row)])
    with pytest.raises(JournalError, match=r"entry 1 makes no sense: .*Go back to a copy"):
        Journal.open(path)
    assert "entry 1" in sessions(tmp_path)[0].fault


def test_a_plain_copy_of_an_open_session_is_whole(tmp_path: Path) -> None:
    """Copied without its log it holds all that was settled, and says that more may be missing."""
    with begin(tmp_path / "here") as journal:
        journal.append(step(1))
        journal.settle()
        journal.append(step(2))
        (tmp_path / "there").mkdir()
        copy = Path(shutil.copy(journal.path, tmp_path / "there"))
        assert not journal.was_cut_off
        path = journal.path
    with Journal.open(copy, read_only=True) as journal:
        assert (journal.last_state(STAGE), journal.was_cut_off) == (state_of(1), True)
    with Journal.open(copy) as journal:
        assert (journal.last_state(STAGE), journal.was_cut_off) == (state_of(1), True)
        journal.append(step(2))
    for sound in (copy, path):
        with Journal.open(sound) as journal:
            assert (journal.last_state(STAGE), journal.was_cut_off) == (state_of(2), False)


def test_a_killed_walk_that_lost_its_log_is_told(tmp_path: Path) -> None:
    """With the log nothing is amiss after a kill; without it the place is old, and that is said."""
    with begin(tmp_path) as journal:
        path = journal.path
    for loses_log in (False, True, False, True):
        killed = walk_and_kill(path, 0.01, loses_log=loses_log)
        assert killed.stored >= killed.acknowledged - loses_log


def test_nothing_that_is_deleted_lets_a_second_walker_in(tmp_path: Path) -> None:
    """Whoever clears away all but the session's own file is still refused."""
    with begin(tmp_path) as journal:
        path = journal.path
    child, said = start(path)
    try:
        said.readline()
        for beside in tmp_path.glob("*lock*"):
            beside.unlink()
        with pytest.raises(JournalError, match="already being walked"):
            Journal.open(path)
    finally:
        child.kill()
        said.close()
        child.wait()
    with Journal.open(path), pytest.raises(JournalError, match="already being walked"):
        Journal.open(path)


def test_a_walker_that_was_pushed_out_writes_no_more(tmp_path: Path) -> None:
    """Should a second walker get in all the same, the first one's next command is refused."""
    with begin(tmp_path) as journal:
        journal.append(step(1))
        _by_hand(
            journal.path,
            "UPDATE session SET holder = ?",
            '{"pid": 7, "host": "\\u001b[2Jattic", "since": "2026-03-05T13:05:00+00:00"}',
        )
        with pytest.raises(JournalError, match=r"walked on attic since 2026-03-05 \d\d:\d\d "):
            journal.append(step(2))
        assert journal.last_state(STAGE) == state_of(1)


def test_a_session_moved_away_under_the_walk_is_said(tmp_path: Path) -> None:
    """Nothing is written to a file that nobody would find again; put back, it goes on."""
    with begin(tmp_path) as journal:
        away = journal.path.rename(tmp_path / "away")
        with pytest.raises(JournalError, match="moved, deleted or replaced"):
            journal.append(step(1))
        away.rename(journal.path)
        assert journal.append(step(1)).number == 1
