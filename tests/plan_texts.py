"""A small plan file, the same by a WIF file, and what is wrong with their like."""

from __future__ import annotations

import pytest

from companion.base.errors import PlanError
from companion.plan.file.reader import parse_plan

PLAN = """\
title = "Four ends"
units = "inch"

[warp]
ends = 4
ends_per_inch = 10

[reed]
dents_per_inch = 10
width = 24

[loom]
shafts = 4
heddles = [1, 1, 1, 1]

[blocks]
A = "1-2"

[[threading]]
block = "A"

[[threading]]
parts = [
    { ends = "3" },
    { ends = "4" },
]
"""
BY_DRAFT = """\
title = "Four ends"
draft = "four.wif"
[warp]
ends_per_inch = 10
[reed]
dents_per_inch = 10
width = 24
[loom]
shafts = 4
"""
WIF = """\
[WIF]
Version=1.1
[CONTENTS]
WEAVING=yes
WARP=yes
THREADING=yes
[WEAVING]
Shafts=4
Treadles=1
[WARP]
Threads=4
[THREADING]
1=1
2=2
3=3
4=4
"""


def problems_of(text: str, draft_text: str | None = None) -> list[str]:
    """Return the problems of a plan that must be wrong, each as one line."""
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "plan.toml", draft_text)
    return [str(problem) for problem in caught.value.problems]


def changed(*pairs: tuple[str, str]) -> str:
    """Return the plan with each first text, which must be there, replaced by the second."""
    text = PLAN
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text
