"""Milestones of the sleying: what a ruler and the reed's own centre can be held to."""

from __future__ import annotations

from itertools import cycle, islice
from typing import TYPE_CHECKING, Any

from hypothesis import given
from job_walker import job_plans, notes_of
from small_plans import make_plan, straight, untimed

from companion.job import Stage, stage
from companion.loom.compute import compute
from companion.out.report import step_lines
from companion.wording.callouts import describe

if TYPE_CHECKING:
    from companion.plan.file.reader import Plan


def sleying(ends: int, **tables: Any) -> Stage:
    """Return the sleying of so many ends, 20 in an inch unless told otherwise."""
    return stage(compute(make_plan(straight(ends), **tables)), "sley")


def test_every_inch_tells_ends_and_dents() -> None:
    """20 ends in 12 dents an inch, so 60 in 36 at the third (computed by hand)."""
    notes = notes_of(sleying(480, dents=12, reed_width=36))
    assert notes[12] == "This makes 20 ends in 12 dents, over 1 inch of reed."
    assert notes[36] == "This makes 60 ends in 36 dents, over 3 inches of reed."


def test_a_section_of_the_reed_is_checked_as_one_weaver_does_it() -> None:
    """39 ends in 30 dents, 1-1-2-1-1-2-1-1-1-2 three times, held against a ruler
    of two inches (blossommerz.blogspot.com, February 2012), so its reed has 15 dents in an inch."""
    walked = sleying(39, sett="39/2", dents=15, reed={"sley": "1-1-2-1-1-2-1-1-1-2"})
    assert notes_of(walked)[30].startswith("This makes 39 ends in 30 dents, over 2 inches of reed.")


def test_the_centre_and_the_last_dent_are_told() -> None:
    """288 dents centred in 432: half is dent 144, and 72 stay empty after the last."""
    notes = notes_of(sleying(480, dents=12, reed_width=36))
    assert notes[144].endswith("This is half of the 288 dents: the centre of the warp.")
    assert notes[288].endswith("This is the last of 288 dents: 72 stay empty after it.")
    assert sum("centre" in note for note in notes.values()) == 1


def test_a_metric_plan_is_told_every_two_and_a_half_centimetres() -> None:
    """40 dents in 10 cm: 10 dents make 2.5 cm and 20 make 5 cm."""
    metric = {"units": "metric", "reed": {"dents_per_10cm": 40}, "warp": {"ends_per_cm": 8}}
    notes = notes_of(sleying(80, sett=None, dents=None, **metric))
    assert notes[10] == "This makes 20 ends in 10 dents, over 2 and a half centimetres of reed."
    assert "over 5 centimetres of reed" in notes[20]


def test_floating_selvedges_fill_dents_but_are_no_ends() -> None:
    """With one at each edge the first inch of a 10-dent reed has 18 ends in 10 dents."""
    notes = notes_of(sleying(40, selvedges={"floating": 1}))
    assert notes[10] == "This makes 18 ends in 10 dents, over 1 inch of reed."


def test_dents_left_empty_are_no_filled_dents() -> None:
    """At 5 ends in 10 dents an inch has 5 ends in 5 dents, and the mark comes with the sixth."""
    notes = notes_of(sleying(20, sett=5))
    assert notes[6] == "This makes 6 ends in 6 dents, over 1 inch of reed."


def test_threading_has_no_milestones() -> None:
    """Only a pass along the reed alone is measured with a ruler."""
    plan = make_plan(tuple(islice(cycle((1, 2)), 40)))
    assert not notes_of(stage(compute(plan), "thread"))
    assert not notes_of(stage(compute(plan), "thread-and-sley"))


@untimed
@given(job_plans())
def test_the_centre_is_told_once_and_the_last_dent_last(plan: Plan) -> None:
    """However the ends lie in the reed, one step reaches the middle and one the last dent."""
    dressing = compute(plan)
    sleying = stage(dressing, "sley")
    steps, notes = sleying.steps, notes_of(sleying)
    dents = len(dressing.sley.counts)
    middle = [steps[at - 1] for at, note in notes.items() if "the centre of the warp" in note]
    assert len(middle) == 1
    assert 2 * middle[0].dents[-1] >= dents
    assert all(2 * step.dents[-1] < dents for step in steps[: middle[0].number - 1])
    assert f"This is the last of {dents} dents" in notes[len(steps)]
    assert sum("the last of" in note for note in notes.values()) == 1


def test_a_dent_that_begins_with_a_doubled_heddle_tells_every_end() -> None:
    """Three ends a dent: the first holds both ends of heddle 1 and the one of heddle 2."""
    told: dict[str, Any] = {"loom": {"passes": "separate"}, "selvedges": {"doubled": 1}}
    plan = make_plan(straight(10), sett=30, **told)
    walked = sleying(10, sett=30, **told)
    first, *_, last = walked.steps
    assert describe(first, walked) == "dent 1: ends 1 to 3, shafts 1, 1, 2"
    assert describe(last, walked) == "dent 4: ends 10 to 12, shafts 1, 2, 2"
    assert "  1. dent 1: ends 1 to 3, shafts 1, 1, 2" in list(step_lines(compute(plan)))


@untimed
@given(job_plans())
def test_each_dent_tells_the_shaft_of_each_of_its_ends(plan: Plan) -> None:
    """Read back from the words: the shafts of all dents, one after the other, are the warp's."""
    dressing = compute(plan)
    heard = dict[int, list[int]]()
    walked = stage(dressing, "sley")
    for step in walked.steps:
        if step.is_floating:
            continue
        shafts = describe(step, walked).partition(", shaft")[2].lstrip("s")
        numbers = [int(word) for word in shafts.replace(";", ",").split(", ")]
        size = step.last_end - step.first_end + 1
        heard[step.dents[0]] = numbers * size if len(numbers) == 1 and size > 1 else numbers
    assert [shaft for dent in sorted(heard) for shaft in heard[dent]] == [
        end.shaft for end in dressing.ends
    ]
