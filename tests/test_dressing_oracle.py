"""Random plans beside a loom that is dressed by the plainest means."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from dressing_oracle import Case, Thread, draw, faults


@pytest.mark.parametrize("first", range(0, 120, 20))
def test_random_plans_dress_the_loom_that_the_tables_ask_for(first: int) -> None:
    """Ends, heddles, dents, sections, groups, steps, ties and length are those of the tables."""
    wrong = {seed: faults(draw(Random(seed))) for seed in range(first, first + 20)}
    assert {seed: found for seed, found in wrong.items() if found} == {}


BAND: dict[str, Any] = {
    "title": "Band",
    "units": "inch",
    "warp": {"ends_per_inch": "10"},
    "reed": {"dents_per_inch": "10", "width": "4"},
    "loom": {"shafts": 4},
    "groups": {"by": "repeat"},
    "selvedges": {"floating": 0, "doubled": 0},
    "threading": [{"ends": "1-2-3-4", "times": 3}],
}


def test_the_oracle_sees_what_differs() -> None:
    """A small plan by hand agrees, and one end, one dent or one heddle more does not."""
    threads = tuple(Thread(place, (place - 1) % 4 + 1, "") for place in range(1, 13))
    assert faults(Case(BAND, threads)) == []
    assert faults(Case(BAND, threads[::-1]))
    assert faults(Case(BAND, (*threads, Thread(13, 1, ""))))
