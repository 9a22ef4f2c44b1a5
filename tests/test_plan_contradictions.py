"""Threadings that cannot be: what is said of them, all at once."""

from __future__ import annotations

from typing import Any

import pytest
from plan_tables import PartTable, faults_of, warp


@pytest.mark.parametrize(
    ("threading", "tables", "fault"),
    [
        (
            [{"ends": "1 to 4", "times": 9}],
            {"warp": warp(ends=40)},
            (
                "warp.ends",
                "expected the 40 ends that warp.ends asks for, and the threading comes to 36",
                "Write ends = 36, or lengthen the threading by 4",
            ),
        ),
        (
            [{"ends": "1 to 4", "times": 9}],
            {"warp": warp(width=3)},
            (
                "warp.width",
                "expected the 30 ends that warp.width asks for, and the threading comes to 36",
                "Write ends = 36 in place of width, or shorten the threading by 6",
            ),
        ),
        (
            [{"ends": "1 to 4, 3 to 2", "times": "fill"}],
            {"warp": warp(ends=40)},
            (
                "warp.ends",
                (
                    "expected the 40 ends that warp.ends asks for, and the threading comes to 36, "
                    "or 42 with one pass more"
                ),
                "Write ends = 36 or ends = 42, or lengthen the threading by 4",
            ),
        ),
        (
            [{"ends": "1 to 4", "times": 9}],
            {"warp": warp(ends=36), "selvedges": {"doubled": 2}},
            (
                "warp.ends",
                (
                    "expected the 36 ends that warp.ends asks for, and the threading comes to 40 "
                    "with its 4 doubled ends"
                ),
                "Write ends = 40, or shorten the threading by 4",
            ),
        ),
        (
            [{"ends": "1 to 4", "times": "fill"}],
            {},
            (
                "threading.0.times",
                'expected ends or width under [warp] for "fill" to go by, and neither is given',
                "Add ends = 300 to [warp], or write a number of times here",
            ),
        ),
        (
            [{"ends": "1 to 4", "times": 9}, {"ends": "1 to 4", "times": "fill"}],
            {"warp": warp(ends=38)},
            (
                "threading.1.times",
                "expected room for one pass of 4 ends at least, and the other parts leave 2",
                "Make the warp wider or the other parts shorter",
            ),
        ),
        (
            [{"ends": "1 to 4", "times": 9}, {"ends": "1 to 4", "times": "fill"}],
            {"warp": warp(ends=30)},
            (
                "threading.1.times",
                (
                    "expected room for one pass of 4 ends at least, and the other parts are 6 ends "
                    "too long already"
                ),
                "Make the warp wider or the other parts shorter",
            ),
        ),
        (
            [{"ends": "1", "times": "fill"}, {"ends": "2", "times": "fill"}],
            {"warp": warp(ends=30)},
            (
                "threading.1.times",
                'expected "fill" once in threading, and this is another',
                "Write a number of times here",
            ),
        ),
        (
            [{"ends": "1-2-3"}],
            {"selvedges": {"doubled": 2}},
            (
                "selvedges.doubled",
                "expected at least 4 heddles to double 2 a side, and the threading has 3",
                "Double fewer heddles",
            ),
        ),
        (
            [],
            {},
            (
                "threading",
                "expected a threading, and there is none",
                (
                    'Add [[threading]] with ends = "1 to 4" and times = "fill", or '
                    'draft = "towels.wif"'
                ),
            ),
        ),
        (
            [{"ends": "1 to 4", "colour": "red"}],
            {"colours": [{"colour": "red", "ends": 4}]},
            (
                "colours",
                "expected colours once, and both [[colours]] and the threading's parts name them",
                "Keep the one and take out the other",
            ),
        ),
        (
            [{"block": "b"}],
            {"blocks": {"B": "1-2"}},
            (
                "threading.0.block",
                'expected the name of a block in [blocks], not "b"',
                'Add b = "1-2-3-4", or what it is, to [blocks]',
            ),
        ),
        (
            [{"block": "Border"}],
            {"blocks": {"border": "1-2"}},
            (
                "threading.0.block",
                'expected the name of a block in [blocks], not "Border"',
                'Write "border" if that is meant, or add the block to [blocks]',
            ),
        ),
        (
            [{"named": "rosepath"}],
            {},
            (
                "threading.0.named",
                'expected the name of a threading in common use, not "rosepath"',
                (
                    'Write "rosepath 4 a" or "rosepath 4 b" or "rosepath 8" if that is meant, or '
                    'write it out, as in ends = "1 to 4, 3 to 2"'
                ),
            ),
        ),
    ],
)
def test_a_threading_that_cannot_be_is_told_with_its_numbers_and_a_mend(
    threading: list[PartTable], tables: dict[str, Any], fault: tuple[str, str, str]
) -> None:
    """Both numbers are named, and the mend is one that works."""
    assert faults_of(threading, **tables) == [fault]


def test_faults_of_every_part_are_told_together() -> None:
    """One reading finds them all: notation, block, name, second fill, sley, tie-up, treadling."""
    found = faults_of(
        [
            {"ends": "1-x", "times": "fill"},
            {"parts": [{"block": "Z"}, {"named": "nothing"}]},
            {"ends": "65", "times": "fill"},
        ],
        blocks={"A": "1--2"},
        reed={"dents_per_inch": 10, "width": 40, "sley": "1-2-"},
        tie_up={"shed": "rising", "treadles": ["1-2", "", "3/4"]},
        treadling=[{"picks": "1+"}, {"parts": [{"picks": "1-2"}, {"picks": "?"}]}],
        colours=[
            {"colour": "red", "ends": 1},
            {"times": "fill", "colour": "red", "ends": 1},
            {"times": "fill", "colour": "blue", "ends": 1},
        ],
    )
    assert {path for path, _, _ in found} == {
        "threading.0.ends",
        "threading.1.parts.0.block",
        "threading.1.parts.1.named",
        "threading.2.ends",
        "threading.2.times",
        "blocks.A",
        "reed.sley",
        "tie_up.treadles.2",
        "treadling.0.picks",
        "treadling.1.parts.1.picks",
        "colours.2.times",
    }


@pytest.mark.parametrize(
    ("threading", "path"),
    [
        ([{"ends": "1", "times": 1_000_000}, {"ends": "1"}], "threading"),
        ([{"parts": [{"ends": "1-2", "times": 1_000_000}], "times": 1_000_000}], "threading"),
        ([{"ends": "1 to 64", "times": 1_000_000} for _ in range(50)], "threading"),
        ([{"ends": "1 to 64 " * (200_000 // 64)} for _ in range(9)], "threading.5.ends"),
    ],
)
def test_more_ends_than_any_loom_holds_are_refused_before_they_are_written_out(
    threading: list[PartTable], path: str
) -> None:
    """A slip in a number of times does not fill the memory."""
    [(where, fault, _)] = faults_of(threading)
    assert where == path
    assert fault.startswith("expected at most 1,000,000 in all")


def test_a_width_that_asks_for_too_much_is_refused() -> None:
    """A million inches at a million ends to the inch is a slip."""
    asked = {"width": 1_000_000, "ends_per_inch": 1_000_000}
    [(path, fault, _)] = faults_of([{"ends": "1", "times": "fill"}], warp=asked)
    assert (path, fault[:20]) == ("warp.width", "expected at most 1,0")
