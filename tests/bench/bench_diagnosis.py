"""How often the diagnosis is right, by brute force, and how its time grows with the warp.

`python tests/bench/bench_diagnosis.py` prints two tables. Every one and two slips of each small
threading are made on a model of the loom. A case counts as tellable where no other loom, after as
few or fewer slips, would give the same report; "first" is the share of those whose true slips are
the first answer, "told" the share whose true slips are among the answers.
"""

from __future__ import annotations

import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

import diagnosis_oracle as oracle  # noqa: E402 needs the path

from companion.diagnosis.diagnose import diagnose  # noqa: E402 needs the path
from companion.diagnosis.effect import effect  # noqa: E402 needs the path
from companion.diagnosis.mends import mends  # noqa: E402 needs the path
from companion.diagnosis.slips import Observed  # noqa: E402 needs the path
from companion.plan.draft.draft import Draft  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.diagnosis.planned import Planned

LOOKS = (oracle.by_touch, oracle.by_touch_and_spares, oracle.by_counts, oracle.by_total)
SIZES = (500, 1000, 2000, 4000)
ROUNDS = 5


def right() -> None:
    """Print how often the true slips stand first."""
    print("threading          report               slips   cases  tellable    first     told")
    for threading in oracle.THREADINGS:
        one, two = oracle.one_slip(threading), oracle.two_slips(threading)
        for look in LOOKS:
            for number, made, fewer in ((1, one, []), (2, two, one)):
                done = oracle.score(threading, made, look, fewer)
                row = f"{threading.name:18} {look.__name__:20} {number:5} {done.cases:7}"
                print(f"{row} {done.tellable:9} {_shares(done)}")


def _shares(done: oracle.Score) -> str:
    if not done.tellable:
        return "       -        -"
    return f"{done.first / done.tellable:8.2%} {done.told / done.tellable:8.2%}"


def fastest(work: Callable[[], object]) -> float:
    """Return the seconds of the fastest of some rounds: the least disturbed one."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def reports(shafts: tuple[int, ...]) -> dict[str, Observed]:
    """Return reports of a straight draw on four shafts gone wrong."""
    size = len(shafts)
    three = list(shafts)
    three[size // 3] = three[size // 3] % 4 + 1
    three[size - 9], three[size - 8] = three[size - 8], three[size - 9]
    del three[size // 2]
    unit = list(shafts)
    unit[size // 3] = unit[size // 3] % 4 + 1
    del unit[size // 2 : size // 2 + 4]
    spare = {shaft: size // 4 - three.count(shaft) for shaft in range(1, 5)}
    return {
        "three slips felt": Observed(felt=tuple(three)),
        "the same and spares": Observed(felt=tuple(three), spare=spare),
        "a unit and a slip felt": Observed(felt=tuple(unit)),
        "two slips counted": Observed(total=size - 1, spare={1: 1, 2: 1, 3: -1}),
        "nothing like the plan": Observed(felt=shafts[::-1]),
    }


def answer(planned: Planned, report: Observed) -> None:
    """Diagnose a report, with what each explanation does to a 2/2 twill and its mends."""
    shafts = planned.shafts
    treadles, picks = ((1, 2), (2, 3), (3, 4), (1, 4)), ((1,), (2,), (3,), (4,)) * 2
    draft = Draft(shafts, ("",) * len(shafts), (), treadles=treadles, picks=picks)
    for found in diagnose(planned, report).diagnoses:
        effect(draft, shafts, found)
        mends(found, planned.last)


def fast() -> None:
    """Print the milliseconds each report takes, with effects and mends, as the warp grows."""
    print(f"\nmilliseconds{'':14}" + "".join(f"{size:>8} ends" for size in SIZES) + "   growth")
    warps = [oracle.Threading("straight", ((1, 2, 3, 4),) * (size // 4)) for size in SIZES]
    every = [(warp.planned(), reports(warp.shafts_in_order)) for warp in warps]
    for name in every[0][1]:
        spent = [fastest(partial(answer, planned, each[name])) for planned, each in every]
        growth = spent[-1] / spent[0] / (SIZES[-1] / SIZES[0])
        cells = "".join(f"{seconds * 1000:13.1f}" for seconds in spent)
        print(f"{name:26}{cells}   {growth:.2f} x linear")


if __name__ == "__main__":
    right()
    fast()
