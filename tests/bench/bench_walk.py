"""Kill the real command at random moments, and time a cold start; prints what came of it.

python tests/bench/bench_walk.py [KILLS]     200 kills unless another number is given
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from front_door import PLANS, kill_and_resume, run, start, walk_commands

STRIPED = PLANS / "striped-towels.toml"
STARTS = 9


def kills(number: int) -> None:
    """Count the places found after SIGKILL, by how they compare with what was heard."""
    same = ahead = lost = 0
    with tempfile.TemporaryDirectory() as home:
        commands = walk_commands(Path(home), STRIPED)
    for seed in range(number):
        with tempfile.TemporaryDirectory() as home:
            heard, present = kill_and_resume(Path(home), STRIPED, commands, random.Random(seed))
        same += present == heard
        ahead += present == heard + 1
        lost += present < heard or present > heard + 1
    print(f"kills with SIGKILL:                          {number}")
    print(f"resumed just where the weaver had heard:     {same}")
    print(f"one step on (committed, not yet heard of):   {ahead}")
    print(f"confirmed ends lost, or a wrong place:       {lost}")


def cold_start() -> None:
    """Time from starting the command to its first printed word, beside a bare interpreter."""
    firsts, bares = [], []
    with tempfile.TemporaryDirectory() as home:
        run(Path(home), "thread", STRIPED, "--audio-out", Path(home) / "warm.wav")
        for _ in range(STARTS):
            began = time.perf_counter()
            process = start(Path(home), "thread", STRIPED, "--text", "--new")
            assert process.stdout is not None
            process.stdout.readline()
            firsts.append(time.perf_counter() - began)
            process.kill()
            process.communicate()
            began = time.perf_counter()
            run(Path(home), "--version")
            bares.append(time.perf_counter() - began)
    first, bare = statistics.median(firsts), statistics.median(bares)
    print(f"command to first word printed, median of {STARTS}: {first * 1000:.0f} ms")
    print(f"of which `companion --version` alone takes:  {bare / first:.0%}")


if __name__ == "__main__":
    cold_start()
    kills(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
