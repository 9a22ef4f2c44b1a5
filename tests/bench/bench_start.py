"""Time how soon the command speaks up, beside Python itself and what it stands on.

python tests/bench/bench_start.py [ROUNDS]     40 rounds unless another number is given

All are started by turns in one run, with bytecode compiled, and the least of each is taken: the
processor time of the whole run, its input ended from the start, and the clock until its first line.
On a busy machine only the processor time tells anything. Compare the ratios.
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
FIRST_TRY = str(PLANS / "first-try.toml")
STARTS = {
    "python -c pass": (sys.executable, "-c", "print()"),
    "python -c 'import click, pydantic'": (sys.executable, "-c", "import click, pydantic; print()"),
    "companion --help": (*COMMAND, "--help"),
    "companion thread PLAN --text, a new walk": (*COMMAND, "thread", FIRST_TRY, "--text", "--new"),
    "companion resume --text": (*COMMAND, "resume", "--text"),
}


def used_and_clock(command: tuple[str, ...], home: Path) -> tuple[float, float]:
    """Return the seconds of processor time of a run, and those until its first line."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    with subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, env=environment(home)
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline(), command
        clock = time.perf_counter() - began
        process.stdout.read()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return used, clock


def main(rounds: int) -> None:
    """Start everything by turns and print the table."""
    best = dict.fromkeys(STARTS, (float("inf"), float("inf")))
    for _ in range(rounds + 1):  # the first compiles what is not compiled
        with tempfile.TemporaryDirectory() as home:
            for name, command in STARTS.items():
                used, clock = used_and_clock(command, Path(home))
                best[name] = min(best[name][0], used), min(best[name][1], clock)
    python, libraries = list(best.values())[:2]
    print(f"{'least of ' + str(rounds):42} used ms /python /libraries  first line ms /libraries")
    for name, (used, clock) in best.items():
        print(
            f"{name:42} {used * 1000:7.0f} {used / python[0]:7.1f} {used / libraries[0]:10.1f}"
            f" {clock * 1000:14.0f} {clock / libraries[1]:10.1f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
