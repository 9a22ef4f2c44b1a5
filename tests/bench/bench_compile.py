"""How long a plan takes to compile into a dressing and its steps, at three sizes.

Run with `python tests/bench/bench_compile.py`. Growth is the ratio to the row above: ten times the
ends should take about ten times as long. Shown are processor seconds, the best of several runs,
since other work on the machine only ever adds time.
"""

from __future__ import annotations

import gc
from functools import partial
from time import process_time
from typing import TYPE_CHECKING

from companion.job import stage
from companion.loom.compute import compute
from companion.plan.file.reader import parse_plan

if TYPE_CHECKING:
    from collections.abc import Callable

SIZES = (1_000, 10_000, 100_000)
RUNS = 5
PLAN = """\
title = "Bench"
[warp]
ends = {ends}
ends_per_inch = {sett}
[reed]
dents_per_inch = 12
width = 10000
[loom]
shafts = 4
heddles = [100000, 100000, 100000, 100000]
[raddle]
sections_per_inch = 2
[selvedges]
floating = 1
doubled = 2
[blocks]
A = "1-2-3-4"
B = "4-3-2-1"
[[threading]]
parts = [{{block = "A", times = 2, colour = "indigo"}}, {{block = "B", colour = "white"}}]
times = "fill"
[[threading]]
ends = "{rest}"
"""


def plan_text(ends: int, sett: str) -> str:
    """Return a plan of 12-end repeats that comes to exactly so many ends."""
    rest = (ends - 4) % 12 or 12
    return PLAN.format(ends=ends, sett=sett, rest="-".join(["1"] * rest))


def best(job: Callable[[], object]) -> float:
    """Return the processor seconds of the quickest run."""
    times = []
    for _ in range(RUNS):
        gc.collect()
        start = process_time()
        job()
        times.append(process_time() - start)
    return min(times)


def main() -> None:
    """Print one table for a short order in the reed and one for an order that never comes round."""
    for label, sett in (("20 ends in 12 dents", "20"), ("20.0003 ends in 12 dents", "20.0003")):
        print(f"\n{label}\n{'ends':>8} {'read':>9} {'compute':>9} {'steps':>9} ", end="")
        print(f"{'compile':>9} {'growth':>7}")
        before = 0.0
        for ends in SIZES:
            text = plan_text(ends, sett)
            plan = parse_plan(text, "bench.toml")
            dressing = compute(plan)
            assert len(dressing.ends) == ends
            reading = best(partial(parse_plan, text, "bench.toml"))
            computing = best(partial(compute, plan))
            stepping = best(partial(stage, dressing, "thread-and-sley"))
            whole = computing + stepping
            growth = f"{whole / before:6.1f}x" if before else ""
            print(f"{ends:8} {reading:8.3f}s {computing:8.3f}s {stepping:8.3f}s ", end="")
            print(f"{whole:8.3f}s {growth:>7}")
            before = whole


if __name__ == "__main__":
    main()
