"""A beginning at the wrong edge, noticed late: what it means, and going on in the right way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from front_door import run, terminal
from hypothesis import given
from small_plans import plans
from test_replan import TEXT, THREADING, threading

from companion.loom.compute import compute
from companion.plan.turned import turn_of, turned, turned_more

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

    from companion.plan.file.reader import Plan

SAME_FROM_BOTH = threading(("1 to 4", 5), ("4 to 1", 5))
SAME_BORDERS = threading(("1 to 4", 3), ("1-3-2-4", 4), ("4 to 1", 3))
"""The borders mirror each other; what is between them does not."""
TO_END_11 = [*["done"] * 8, "8", *["done"] * 3]


def _walk(home: Path, change: tuple[str, str], *options: str) -> pexpect.spawn[str]:
    """Walk eleven ends of a plan in a terminal."""
    path = home / "plan.toml"
    path.write_text(TEXT.replace(*change), encoding="utf-8")
    child = terminal(home, "thread", path, "--text", "--lines", *options)
    child.expect_exact("End 1: ")
    for words in TO_END_11:
        child.sendline(words)
    child.expect_exact("End 12: ")
    return child


def _say(child: pexpect.spawn[str], words: str, expected: str) -> None:
    child.sendline(words)
    child.expect_exact(expected)


@pytest.mark.parametrize(
    ("change", "then"), [(SAME_FROM_BOTH, "shaft 1, dent 13."), (SAME_BORDERS, "shaft 4, dent 13.")]
)
def test_where_the_ends_done_fit_the_order_is_turned(
    tmp_path: Path, change: tuple[str, str], then: str
) -> None:
    """The cloth is as planned, and what follows comes in the opposite order, also when resumed."""
    child = _walk(tmp_path, change)
    _say(child, "wrong edge", "fits from there too, with the order turned: end 1 at the left.")
    _say(
        child, "yes", "End 1 is at the left edge from here on, and the cloth comes out as planned."
    )
    child.expect_exact("End 12: shaft 4, dent 12.")
    _say(child, "done", f"End 13: {then}")
    _say(child, "stop", "Your place is kept")
    child.wait()
    again = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert f"End 13: {then}" in again
    assert "The plan" not in again
    assert "End 1 is at the left edge from here on" in run(tmp_path, "log").stdout
    assert run(tmp_path, "handover").returncode == 0


def test_else_the_cloth_is_mirrored_or_all_is_done_anew(tmp_path: Path) -> None:
    """Both ways are offered by the same words; nothing changes until one is agreed to."""
    child = _walk(tmp_path, (THREADING, THREADING))
    mirrored = "Begun at the left edge, the cloth comes out mirrored, but otherwise as planned."
    _say(child, "wrong edge", mirrored)
    _say(child, "wrong edge", "Pull ends 1 to 11 out and begin again at the right edge?")
    _say(child, "no", "Nothing changed.")
    child.expect_exact("End 12: shaft 4, dent 12.")
    _say(child, "wrong edge", mirrored)
    _say(child, "yes", "End 1 is at the left edge from here on, and the cloth comes out mirrored.")
    child.expect_exact("End 12: shaft 4, dent 12.")
    _say(child, "wrong edge", mirrored.replace("left", "right"))
    _say(child, "wrong edge", "Pull ends 1 to 11 out and begin again at the left edge?")
    _say(child, "yes", "End 1: shaft 1, dent 1.")
    _say(child, "wrong edge", "nothing is confirmed yet")
    _say(child, "stop", "Your place is kept")
    child.wait()


def test_colours_that_are_not_alike_from_both_edges_are_not_mirrored(tmp_path: Path) -> None:
    """The warp lies in the cross in the plan's colours, so only threading anew is right."""
    stripes = ('colour = "white"\nends = 20', 'colour = "blue"\nends = 20')
    colours = "".join(f"[[colours]]\n{stripe}\n" for stripe in stripes)
    child = _walk(tmp_path, (THREADING, THREADING + colours))
    _say(child, "wrong edge", "Pull ends 1 to 11 out and begin again at the right edge?")
    _say(child, "no", "Nothing changed.")
    _say(child, "stop", "Your place is kept")
    child.wait()


def test_a_stage_that_begins_at_no_edge_says_so(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(TEXT, encoding="utf-8")
    told = run(tmp_path, "walk", path, "--only", "tie-up", "--text", lines=["wrong edge", "stop"])
    assert "This stage does not begin at an edge." in told.stdout


@given(plans())
def test_a_turned_order_is_the_same_warp_seen_from_the_other_edge(plan: Plan) -> None:
    """Every end on its shaft and in its colour, counted from the other edge; turned twice as it
    was."""
    whole, other = compute(plan), compute(turned(plan, "order"))
    assert other.first_end == whole.last_edge
    assert [end.shaft for end in other.ends] == [end.shaft for end in reversed(whole.ends)]
    assert [end.colour for end in other.ends] == [end.colour for end in reversed(whole.ends)]
    assert (
        other.heddles
        == tuple(
            row.__class__(row.shaft, row.needed, row.after_centre, row.before_centre, row.have)
            for row in whole.heddles
        )
        or len(whole.ends) % 2
    )
    mirrored = compute(turned(plan, "edge"))
    assert mirrored.ends == whole.ends
    assert turned(turned(plan, "order"), "order") == plan


@pytest.mark.parametrize("turn", ["", "edge", "order", "mirror"])
def test_turning_twice_is_not_turning(turn: str) -> None:
    known = turn_of(turn)
    for is_order in (True, False):
        once = turned_more(known, is_order=is_order)
        assert once != known
        assert turned_more(once, is_order=is_order) == known
    assert turn_of(["edge"]) == ""
