"""Ten thousand random plans against a loom dressed by the plainest means (`dressing_oracle`).

Run with `python tests/bench/bench_oracle.py [PLANS]`. Prints how many differences there are, and
the first seeds that show one.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent.parent))

from dressing_oracle import draw, faults

PLANS = 10_000
MOST_SHOWN = 10


def main() -> None:
    """Print what came of every plan."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else PLANS
    found: Counter[str] = Counter()
    ends = 0
    for seed in range(number):
        case = draw(Random(seed))
        ends += len(case.threads)
        wrong = faults(case)
        found.update(wrong)
        if wrong and sum(found.values()) <= MOST_SHOWN:
            print(f"seed {seed}: {'; '.join(wrong)}")
    print(f"{number} plans of {ends} ends: {sum(found.values())} differences")
    for fault, times in found.most_common():
        print(f"{times:6}  {fault}")


if __name__ == "__main__":
    main()
