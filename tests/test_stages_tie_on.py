"""Tying on: even bouts of about an inch, from the centre outward by turns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_walker import job_plans, notes_of, told
from small_plans import make_plan, straight, untimed

from companion.job import Stage, StageName, stage
from companion.loom.compute import compute
from companion.loom.tie_on import Bout, bouts
from companion.wording.openings import opening

if TYPE_CHECKING:
    from fractions import Fraction

    from companion.plan.file.reader import Plan

WIDTHS = st.fractions(0, 60, max_denominator=8)


def tying(ends: int, name: StageName = "tie-on", **tables: Any) -> Stage:
    """Return the tying on of so many ends at 20 an inch."""
    return stage(compute(make_plan(straight(ends), **tables)), name)


def test_the_centre_bout_comes_first_and_the_sides_by_turns() -> None:
    """From the middle to both sides by turns (sandrarude.blogspot.com, 30 March 2009); bouts of an
    inch are common practice, no source."""
    assert told(tying(100)) == [
        "bout 1, at the centre: 20 ends",
        "bout 2, 1 right of centre: 20 ends",
        "bout 3, 1 left of centre: 20 ends",
        "bout 4, 2 right of centre: 20 ends",
        "bout 5, 2 left of centre: 20 ends",
    ]


def test_an_even_number_of_bouts_has_two_beside_the_centre() -> None:
    """Then the first one is right of the centre, and none lies at it."""
    assert told(tying(40)) == [
        "bout 1, 1 right of centre: 20 ends",
        "bout 2, 1 left of centre: 20 ends",
    ]


@pytest.mark.parametrize(("first_end", "first"), [("right", (1, 20)), ("left", (21, 40))])
def test_right_is_right_on_either_loom(first_end: str, first: tuple[int, int]) -> None:
    """Right of the centre are the ends next to end 1 only where end 1 is on the right."""
    step = tying(40, loom={"first_end": first_end}).steps[0]
    assert (step.first_end, step.last_end) == first


def test_at_the_warp_beam_the_sides_are_those_seen_from_behind() -> None:
    """The weaver is behind the loom, where end 1 of a right start is on her left."""
    walked = tying(40, "tie-on-rear", loom={"method": "front-to-back"})
    assert (walked.steps[0].first_end, walked.steps[0].last_end) == (21, 40)
    assert told(walked)[0] == "bout 1, 1 right of centre: 20 ends"
    assert "seen from behind the loom" in opening(walked)
    assert "tension" not in " ".join([opening(walked), *notes_of(walked).values()]).lower()


def test_tension_is_compared_every_few_bouts_and_at_the_end() -> None:
    """After the fourth, the eighth and the last."""
    notes = notes_of(tying(200))
    assert list(notes) == [4, 8, 10]
    assert notes[4].startswith("Pat across")
    assert notes[10].startswith("This is the last one. Go over them all in the same order")


def test_floating_selvedges_are_tied_by_themselves() -> None:
    """They are told in the opening and are in none of the bouts."""
    walked = tying(40, selvedges={"floating": 1})
    assert "floating selvedge at each edge is tied on, or weighted, by itself" in opening(walked)
    assert sum(step.last_end - step.first_end + 1 for step in walked.steps) == 40


@untimed
@given(ends=st.integers(1, 400), width=WIDTHS, is_near_first=st.booleans())
def test_bouts_cover_every_end_once_and_all_but_one_are_even(
    *, ends: int, width: Fraction, is_near_first: bool
) -> None:
    """Each end lies in one bout; a bout is even, so that its halves are alike, but for the odd
    end of an odd warp, which goes into the bout at the far edge."""
    found = bouts(ends, width, is_near_first=is_near_first)
    across = sorted(found)
    assert [end for bout in across for end in range(bout.first, bout.last + 1)] == list(
        range(1, ends + 1)
    )
    odd = [bout for bout in across if bout.ends % 2]
    assert odd == ([across[-1]] if ends % 2 else [])
    sizes = [bout.ends // 2 for bout in across]
    assert max(sizes) - min(sizes) <= 1


@untimed
@given(ends=st.integers(1, 400), width=WIDTHS, is_near_first=st.booleans())
def test_each_bout_lies_beside_those_tied_before(
    *, ends: int, width: Fraction, is_near_first: bool
) -> None:
    """From the centre outward: what is tied is one stretch at every moment, and never more than
    one bout longer on one side than on the other."""
    found = bouts(ends, width, is_near_first=is_near_first)
    tied: list[Bout] = []
    for bout in found:
        tied.append(bout)
        across = sorted(tied)
        assert across[-1].last - across[0].first + 1 == sum(each.ends for each in tied)
        near = sum(each.place == "near" for each in tied)
        far = sum(each.place == "far" for each in tied)
        assert abs(near - far) <= 1


@untimed
@given(job_plans())
def test_the_stage_ties_on_the_whole_warp(plan: Plan) -> None:
    """At the front and at the warp beam the same ends are tied, and each bout is one to count."""
    dressing = compute(plan)
    names: tuple[StageName, ...] = ("tie-on", "tie-on-rear")
    for name in names:
        walked = stage(dressing, name)
        held = sorted(end for s in walked.steps for end in range(s.first_end, s.last_end + 1))
        assert held == [end.number for end in dressing.ends]
        assert sum(group.expected for group in walked.groups) == len(walked.steps)
