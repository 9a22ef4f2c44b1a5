"""Kill the real command at random moments; prints what came of it.

python tests/bench/bench_walk.py [KILLS]     200 kills unless another number is given
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from front_door import PLANS, kill_and_resume, walk_commands

STRIPED = PLANS / "striped-towels.toml"


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


if __name__ == "__main__":
    kills(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
