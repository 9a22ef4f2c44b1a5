"""Measure the journal: `python tests/bench/bench_journal.py` prints a table.

Times commits, and times and weighs resuming a session of 10,000 entries (memory on Linux). Times
depend on the disk, so a bare fsync stands beside them.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

from journal_walker import STAGE, begin, state_of, step  # noqa: E402 needs the path

from companion.record import Journal, sessions  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Callable

ENTRIES = 10_000
_RESUME = """
import re, sys, time
from pathlib import Path
from companion.record import Journal
def peak():
    return int(re.search("VmHWM: *\\t *([0-9]+)", Path("/proc/self/status").read_text())[1]) / 1024
before, start = peak(), time.perf_counter()
journal = Journal.open(Path(sys.argv[1]))
state = journal.last_state(sys.argv[2])
print((time.perf_counter() - start) * 1e3, peak() - before, peak(), state, sep="\\n")
"""


def _milliseconds(act: Callable[[int], object], times: int) -> list[float]:
    taken = []
    for number in range(1, times + 1):
        start = time.perf_counter()
        act(number)
        taken.append((time.perf_counter() - start) * 1e3)
    return taken


def _show(name: str, taken: list[float]) -> float:
    median = statistics.median(taken)
    p99 = statistics.quantiles(taken, n=100, method="inclusive")[98]
    print(f"{name:34} median {median:8.3f} ms   p99 {p99:8.3f} ms   most {max(taken):8.3f} ms")
    return median


def commits(folder: Path) -> Path:
    """Time appends beside bare writes with fsync; return the journal of 10,000 entries."""
    with (folder / "bare").open("wb") as bare:

        def write(number: int) -> None:
            bare.write(state_of(number).encode())
            bare.flush()
            os.fsync(bare.fileno())

        floor = _show("bare write and fsync", _milliseconds(write, 1000))
    with begin(folder, "Long warp") as journal:
        median = _show("append", _milliseconds(lambda n: journal.append(step(n)), ENTRIES))
        path = journal.path
    with begin(folder, "Settled") as settled:
        _show("append, then settle", _milliseconds(lambda n: _settled(settled, n), 1000))
    print(f"append / bare fsync                {median / floor:.1f}")
    print(f"file of {ENTRIES} entries            {path.stat().st_size / 1e6:.1f} MB")
    return path


def _settled(journal: Journal, number: int) -> None:
    journal.append(step(number))
    journal.settle()


def resuming(path: Path) -> None:
    """Time and weigh resuming in a fresh process, and listing the folder."""
    taken = []
    for _ in range(20):
        answer = subprocess.run(
            [sys.executable, "-c", _RESUME, path, STAGE],
            cwd=REPOSITORY,
            capture_output=True,
            text=True,
            check=True,
        ).stdout.splitlines()
        assert answer[3] == state_of(ENTRIES)
        taken.append(float(answer[0]))
    _show(f"resume at {ENTRIES} entries", taken)
    more, whole = float(answer[1]), float(answer[2])
    print(f"memory for it                      {more:.1f} MiB more, {whole:.1f} MiB in all")
    _show("list a folder of 3 sessions", _milliseconds(lambda _: sessions(path.parent), 20))


def main() -> None:
    """Run everything in a folder that is removed afterwards."""
    with tempfile.TemporaryDirectory() as name:
        resuming(commits(Path(name)))


if __name__ == "__main__":
    main()
