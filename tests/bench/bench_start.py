"""Time how soon the command speaks up, beside Python itself and what it stands on.

python tests/bench/bench_start.py [ROUNDS]     15 rounds unless another number is given

All are started by turns in one run, and each one's quickest start is taken, so that what else the
machine does weighs little; bytecode is compiled. Compare the ratios.
"""

from __future__ import annotations

import os
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


def first_line_seconds(command: tuple[str, ...], home: Path) -> float:
    """Return the seconds from starting a command to its first line."""
    began = time.perf_counter()
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment(home)
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline(), command
        took = time.perf_counter() - began
        process.kill()
    return took


def main(rounds: int) -> None:
    """Start everything by turns and print the table."""
    best = dict.fromkeys(STARTS, float("inf"))
    with tempfile.TemporaryDirectory() as home:
        for _ in range(rounds + 1):  # the first compiles what is not compiled
            for name, command in STARTS.items():
                best[name] = min(best[name], first_line_seconds(command, Path(home)))
    python, libraries = list(best.values())[:2]
    print(f"{'quickest of ' + str(rounds):44}    ms  / python  / click, pydantic")
    for name, seconds in best.items():
        print(f"{name:44} {seconds * 1000:5.0f} {seconds / python:8.1f} {seconds / libraries:8.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 15)
