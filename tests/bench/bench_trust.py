"""Damage by the thousand: `python tests/bench/bench_trust.py [KILLS [CARRIED [SESSIONS]]]`.

Kills a walker with SIGKILL at random moments, every fourth time with its log lost after it, and
brings and opens files damaged at random; unless told otherwise 1,000, 3,000 and 3,000 times. Any
loss that is not told, and any error that is not one plain line of ours, ends it with a traceback.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

from damage import MEMORY, Sound, carry_trial, session_trial, sound  # noqa: E402 needs the path
from journal_walker import begin, walk_and_kill  # noqa: E402 needs the path

from companion.base.errors import JournalError  # noqa: E402 needs the path
from companion.record import rescue  # noqa: E402 needs the path

if TYPE_CHECKING:
    from collections.abc import Callable

KILLS, CARRIED, SESSIONS = 1000, 3000, 3000
SESSION_KILLS = 40
"""How often one session is killed before another is begun."""
LOG_KILLS = 4
TOLD_EACH = 100
"""Kills after which it is told how far it is, so that a run that is ended has told something."""


def kills(folder: Path, number: int) -> None:
    """Kill a walker `number` times and say what was kept."""
    chance, came = random.Random(7), Counter[str]()
    for each in range(number):
        if each % SESSION_KILLS == 0:
            with begin(folder, "Killed") as journal:
                path = journal.path
        loses_log = each % LOG_KILLS == LOG_KILLS - 1
        came["log lost"] += loses_log
        try:
            killed = walk_and_kill(path, chance.uniform(0, 0.1), loses_log=loses_log)
        except JournalError:
            if not loses_log:
                raise
            came["torn"] += 1
            path = path.with_stem(rescue(path).session)
            continue
        came["lost with it"] += max(0, killed.acknowledged - killed.stored)
        came["ahead"] += max(0, killed.stored - killed.acknowledged)
        came["entries"] += killed.acknowledged - killed.before
        if (each + 1) % TOLD_EACH == 0:
            print(f"  {each + 1} of {number}: {came['entries']} entries", flush=True)
    print(
        f"{number} kills: {came['entries']} entries acknowledged, none lost; {came['ahead']} more"
    )
    print(
        f"  were stored. {came['log lost']} times the log was lost too: told each time, and with "
        f"it {came['lost with it']} entries, never more than one at a time"
    )
    print(f"  {came['torn']} times the file was torn by that: refused, and what is sound rescued")


def trials(
    name: str,
    number: int,
    trial: Callable[[random.Random, Path, Sound], str],
    folder: Path,
    whole: Sound,
) -> None:
    """Damage `number` times and print what came of it."""
    chance = random.Random(name)
    came = Counter(trial(chance, folder / "trial", whole) for _ in range(number))
    print(f"{number} {name}:", ", ".join(f"{count} {what}" for what, count in came.most_common()))


def main() -> None:
    """Run everything in a folder that is removed afterwards."""
    given = [int(each) for each in sys.argv[1:]]
    numbers = given + [KILLS, CARRIED, SESSIONS][len(given) :]
    with tempfile.TemporaryDirectory(dir=MEMORY) as name:
        folder = Path(name)
        whole = sound(folder / "whole")
        trials("damaged carried files", numbers[1], carry_trial, folder, whole)
        trials("damaged sessions", numbers[2], session_trial, folder, whole)
        kills(folder / "kills", numbers[0])


if __name__ == "__main__":
    main()
