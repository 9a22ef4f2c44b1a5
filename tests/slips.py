"""Files with slips in them, and what comes of reading them: a plan that holds, or a report."""

from __future__ import annotations

import random
import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from companion.base.errors import PlanError
from companion.job import stages
from companion.loom.compute import compute_text
from companion.out.report import report
from companion.plan.wif.reader import read_wif
from companion.plan.wif.sections import decode

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

PLANS = Path(__file__).parent.parent / "plans"
WIF_FILES = (*(Path(__file__).parent / "data" / "wif").glob("*.wif"), PLANS / "lattice-scarf.wif")
_HARMFUL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
_PIECES = (
    "", "0", "-1", "9" * 30, '"', "\n", "[", "]]", "{", "=", ".", ",", "\0", "\u2028", "\u202e",
    "1e999999999", "x = 1", "1 to 64", "fill", "right", "metric", "%", "1/0", "1,5", "\u201c",
)  # fmt: skip


def slipped(text: str, chance: random.Random) -> str:
    """Return a text with one to four pieces cut, doubled, swapped, changed or put in."""
    for _ in range(chance.randint(1, 4)):
        at, length = chance.randrange(len(text) + 1), chance.randint(1, 30)
        piece, rest = text[at : at + length], text[at + length :]
        other = chance.choice((*_PIECES, chance.choice(text.split() or [""])))
        new = chance.choice(("", piece * 2, piece[::-1], other, other + piece))
        text = text[:at] + new + rest
    return text


def with_lines_moved(text: str, chance: random.Random) -> str:
    """Return a text with whole lines lost, doubled or moved, and maybe a slip too."""
    lines = text.splitlines()
    for _ in range(chance.randint(1, 3)):
        line = lines.pop(chance.randrange(len(lines)))
        for _ in range(chance.choice((0, 1, 2))):
            lines.insert(chance.randrange(len(lines) + 1), line)
    moved = "\n".join(lines)
    return slipped(moved, chance) if chance.random() < 1 / 2 else moved


def outcomes(
    number: int, seed: int, texts: Sequence[str], judge: Callable[[str], str]
) -> Counter[str]:
    """Return what came of so many texts with slips; anything but a plan or a report is raised."""
    chance = random.Random(seed)
    made = (
        chance.choice((slipped, with_lines_moved))(chance.choice(texts), chance)
        for _ in range(number)
    )
    return Counter(map(judge, made))


def judge_plan(text: str) -> str:
    """Read, compute, report and lay out a plan as `companion check` does."""
    draft = (PLANS / "lattice-scarf.wif").read_text(encoding="utf-8")
    try:
        dressing = compute_text(text, "a plan", draft)[1]
    except PlanError as error:
        return _judge_report(error)
    assert not any(_HARMFUL.search(line) for line in report(dressing))
    assert len(stages(dressing)) > 0
    return "read"


def judge_wif(text: str) -> str:
    """Read a draft alone."""
    data = text.encode("utf-8", "replace")
    try:
        draft, notes = read_wif(
            decode(data, "a.wif"), name="a.wif", first_end="right", draft_first_end="right"
        )
    except PlanError as error:
        return _judge_report(error)
    assert len(draft.shafts) == len(draft.colours) > 0
    return "read with notes" if notes else "read"


def _judge_report(error: PlanError) -> str:
    assert 1 <= len(error.problems) <= 51
    for problem in error.problems:
        assert str(problem).isprintable(), str(problem)
        assert problem.fault.startswith("expected ")
        assert problem.mend
    return "refused for one fault" if len(error.problems) == 1 else "refused for several faults"
