"""A loom of 32 shafts and 40 treadles: what is told can be kept, what is printed can be read."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from companion.base.text import in_breaths
from companion.job import stage
from companion.loom.compute import compute
from companion.out.paper.sheets import sheets
from companion.out.picture.layout import layout
from companion.out.picture.view import view
from companion.plan.file.reader import read_plan
from companion.wording.callouts import describe

PLAN = Path(__file__).parent.parent / "plans" / "many-shafts.toml"
LONGEST_PRINTED = 24
"""Characters of a piece that still stands on one line of large print."""


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ((), "no shaft"),
        ((7,), "shaft 7"),
        ((1, 2, 4), "shafts 1, 2 and 4"),
        ((1, 2, 3, 4, 5, 6), "shafts 1, 2, 3, 4, 5 and 6"),
        (tuple(range(1, 17)), "shafts 1 to 16"),
        ((1, 3, 5, 7, 9, 11, 13), "shafts 1, 3, 5, 7; 9, 11 and 13"),
        ((1, 2, 3, 6, 9, 10, 11, 14, 17, 18), "shafts 1 to 3, 6, 9 to 11, 14; 17 and 18"),
    ],
)
def test_many_numbers_are_told_as_runs_four_to_a_breath(
    numbers: tuple[int, ...], told: str
) -> None:
    """By hand: neighbours of three or more are a run, and after four items comes a breath."""
    assert in_breaths("shaft", numbers) == told


def test_every_tie_is_told_and_no_breath_is_longer_than_four() -> None:
    """Each treadle takes all 32 shafts, up or down: those that go up are told, and the others."""
    dressing = compute(read_plan(PLAN))
    walked = stage(dressing, "tie-up")
    assert len(walked.steps) == 40
    for step in walked.steps:
        ties = describe(step, walked).partition(": ")[2]
        up, down = ties.split(" up; ")
        heard = _numbers(up)
        own = dressing.tie_up.treadles[step.number - 1] if dressing.tie_up else None
        assert own is not None
        assert heard == list(own.up)
        assert down == "the others down"
        assert sorted((*own.up, *own.down)) == list(range(1, 33))
        assert all(len(re.split(", | and ", breath)) <= 4 for breath in ties.split("; "))


def _numbers(told: str) -> list[int]:
    """Return the numbers that a list with runs tells."""
    found = re.findall(r"(\d+)(?: to (\d+))?", told)
    return [number for first, last in found for number in range(int(first), int(last or first) + 1)]


def test_the_numbers_above_the_tie_up_do_not_run_into_each_other() -> None:
    """Of 40 treadles the first and every fifth carry a number, each with room beside it."""
    drawn = layout(view(compute(read_plan(PLAN))))
    (corner,) = (panel for panel in drawn.panels if panel.name == "tie-up")
    above = [
        text
        for text in drawn.texts
        if text.size == "number" and text.x > corner.x and 0 < corner.y - text.y < 1
    ]
    assert [text.text for text in above] == ["1", *map(str, range(5, 41, 5))]
    assert all(right.x - left.x >= 4 for left, right in pairwise(above))


def test_no_piece_of_a_sheet_is_too_long_for_a_line_of_large_print() -> None:
    """Numbers stand in fours, so that none runs off the page and none is lost in a row."""
    by_name = {sheet.name: sheet for sheet in sheets(compute(read_plan(PLAN)))}
    assert len(by_name["heddles"].lines) == 32
    assert len(by_name["tie-up"].lines) == 40
    for name in ("heddles", "threading", "tie-up", "treadling"):
        pieces = [piece for line in by_name[name].lines for piece in line.pieces]
        assert max(map(len, pieces)) <= LONGEST_PRINTED, name
