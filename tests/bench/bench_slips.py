"""What comes of 5,000 plans and 5,000 WIF files with slips in them.

Run with `python tests/bench/bench_slips.py`. Anything but a plan that can be dressed or a report of
plain lines ends the run with its traceback.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from slips import PLANS, WIF_FILES, judge_plan, judge_wif, outcomes

NUMBER = 5_000
SEED = 20


def main() -> None:
    plans = [path.read_text(encoding="utf-8") for path in sorted(PLANS.glob("*.toml"))]
    drafts = [path.read_text(encoding="utf-8", errors="replace") for path in sorted(WIF_FILES)]
    for what, texts, judge in (("plans", plans, judge_plan), ("WIF files", drafts, judge_wif)):
        print(f"{NUMBER:,} {what} with slips:")
        for outcome, count in outcomes(NUMBER, SEED, texts, judge).most_common():
            print(f"  {count:6,} {outcome}")


if __name__ == "__main__":
    main()
