"""Time the printing of 300 ends into PDF, HTML and braille, beside Python itself.

python tests/bench/bench_print.py [ROUNDS]     10 rounds unless another number is given

Both are started by turns in one run, with bytecode compiled, and the least of each is taken:
processor time and the clock. Compare the ratio; the seconds are of this machine, on this day.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from front_door import COMMAND, PLANS, environment

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
PYTHON = (sys.executable, "-c", "pass")
PRINT = (*COMMAND, "print", str(PLANS / "striped-towels.toml"), "--to")


def used_and_clock(command: tuple[str, ...], home: Path) -> tuple[float, float]:
    """Return the seconds of processor time and of the clock that a run takes."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment(home))
    clock = time.perf_counter() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, clock


def main(rounds: int) -> None:
    """Start both by turns and print the table."""
    python, printed = [], []
    with tempfile.TemporaryDirectory() as home:
        for number in range(rounds + 1):  # the first compiles what is not compiled
            python.append(used_and_clock(PYTHON, Path(home)))
            to = str(Path(home) / f"sheets-{number}")
            printed.append(used_and_clock((*PRINT, to), Path(home)))
    print(f"{'least of ' + str(rounds):28} {'used s':>7} {'clock s':>8}")
    bare = [min(column) for column in zip(*python[1:], strict=True)]
    whole = [min(column) for column in zip(*printed[1:], strict=True)]
    for name, (used, clock) in (("python -c pass", bare), ("companion print, 300 ends", whole)):
        print(f"{name:28} {used:7.2f} {clock:8.2f}")
    print(f"{'times as much':28} {whole[0] / bare[0]:7.1f} {whole[1] / bare[1]:8.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
