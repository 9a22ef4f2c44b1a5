"""A process that walks a journal until it is killed, and the parent that kills it and looks.

`main` is the walker's: it appends entries and writes the number of each to standard
output only after `append` has returned, as the companion speaks only after the commit.
"""

from __future__ import annotations

import hashlib
import os
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING

from warm_start import start_program

from companion.record import Entry, EntryKind, Journal
from companion.record.store import with_logs

if TYPE_CHECKING:
    import subprocess

    from warm_start import WarmProcess

STAGE = "thread-and-sley"
REPOSITORY = Path(__file__).parent.parent


def state_of(number: int) -> str:
    """Return the state that entry `number` must hold; 64 hexadecimal digits in JSON."""
    return f'{{"mark": "{hashlib.sha256(str(number).encode()).hexdigest()}"}}'


def step(number: int) -> Entry:
    """Return the entry the walker writes as its `number`th."""
    return Entry(
        kind=EntryKind.COMMAND,
        stage=STAGE,
        source="key",
        words="done",
        state=state_of(number),
        position=number,
        total=1_000_000,
    )


def begin(folder: Path, title: str = "Harbour towels") -> Journal:
    """Create a journal with a plan of some length."""
    return Journal.create(
        folder,
        title=title,
        plan_path="harbour.toml",
        plan_text="title = 'Harbour towels'\n" * 40,
        draft_text=None,
        fingerprint="abc",
        options={"stages": ["thread"]},
    )


@dataclass(frozen=True, slots=True)
class Killed:
    """What one killed walker left."""

    before: int
    """The last entry before it was started."""
    acknowledged: int
    """The last entry it was told is safe."""
    stored: int
    """The last entry found afterwards."""


def start(path: Path) -> tuple[WarmProcess | subprocess.Popen[bytes], IO[bytes]]:
    """Start a walker on `path`; return it and the stream of what it says is safe."""
    code = "import sys; sys.path[:0] = ['.', 'tests']; import journal_walker as w; w.main()"
    return start_program(code, path)


def walk_and_kill(path: Path, delay_seconds: float, *, loses_log: bool = False) -> Killed:
    """Start a walker on `path`, SIGKILL it `delay_seconds` after its first commit, and look.

    Opening the journal again checks that it is whole and that the lock is free. Raises
    AssertionError where an entry is missing or is not what was written; where the log is lost too,
    where more than one is missing or it is not told.
    """
    child, said = start(path)
    with said:
        try:
            first = said.readline()
            assert first, "the walker did not start"
            time.sleep(delay_seconds)
        finally:
            child.kill()
        lines = (first + said.read()).split(b"\n")[:-1]
    child.wait()
    acknowledged = int(lines[-1])
    if loses_log:
        for each in with_logs(path)[1:]:
            each.unlink()
    with Journal.open(path) as journal:
        stored = _check(journal)
        assert journal.was_cut_off is loses_log
    least = acknowledged - 1 if loses_log else acknowledged
    assert stored >= least, f"entry {acknowledged} was acknowledged, then lost"
    return Killed(int(lines[0]) - 1, acknowledged, stored)


def _check(journal: Journal) -> int:
    """Check the journal's end and return the number of its last entry."""
    last = journal.last_entry()
    if last is None:
        return 0
    assert journal.last_state(STAGE) == state_of(last.number)
    assert [record.position for record in journal.stages()] == [last.number]
    return last.number


def main() -> None:
    """Walk the journal named on the command line until killed, or until nobody listens any more.

    So a walker whose parent was ended ends too, and is not taken for one that failed.
    """
    with suppress(BrokenPipeError), Journal.open(Path(sys.argv[1])) as journal:
        last = journal.last_entry()
        number = last.number if last else 0
        journal.settle()  # as a walk does, once it has told the place and before a step is done
        while True:
            number = journal.append(step(number + 1)).number
            os.write(1, b"%d\n" % number)
            journal.settle()
