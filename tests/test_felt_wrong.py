"""What was felt wrong in a group holds it, however right its number: a count sees no crossing.

That an end left in the lease or crossed with its neighbour is found by touch, and not by number, is
common practice, without a source; the walks are our own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run
from made_stages import straight
from test_guide_walk import QUIET, Weaver

from companion.guide import Mode, Options, State
from companion.guide.refuse import fitting
from companion.job import stage
from companion.loom.compute import read_and_compute
from companion.out.board.view import view_of
from companion.out.studio.standing import walked

if TYPE_CHECKING:
    from pathlib import Path

DONE = ["done"] * 4
CROSSED = "1 2 4 3"
CROSSING = "Most likely ends 3 and 4 are crossed. Say mend to put it right."
HELD = [
    "<trouble>",
    (
        "4, right. But as you felt it, ends 3 and 4 are crossed. Say mend to put it right, or "
        "accept to let it stand."
    ),
]


def at_boundary(*words: str) -> Weaver:
    weaver = Weaver(straight(), QUIET)
    weaver.say(*DONE, *words)
    return weaver


@pytest.mark.parametrize(
    "words",
    [
        [CROSSED],
        [CROSSED, "3"],
        ["3", CROSSED],
        ["3", CROSSED, "undo"],
        [CROSSED, "4"],
        [CROSSED, "4", "undo"],
        [CROSSED, "1 2"],
        [CROSSED, "look at group 1", "done"],
        [CROSSED, "mend", "yes", "back"],
    ],
)
def test_a_right_number_passes_no_crossing(words: list[str]) -> None:
    """Counted at once, after a wrong count, a look elsewhere, an undo or a mend that was left."""
    weaver = at_boundary(*words)
    assert weaver.say("4") == HELD
    assert weaver.state.checked == 0


def test_what_is_felt_in_the_middle_of_a_group_is_not_forgotten_at_its_end() -> None:
    """Steps done after it, or told of by a count, do not settle it; taken back with them, it is."""
    weaver = Weaver(straight())
    heard = weaver.say("done", "done", "done", "1 3 2", "done", "4")
    assert heard[1].startswith("4, right. But as you felt it, ends 2 and 3 are crossed. Say mend")
    assert weaver.say("back", "back", "back", *["done"] * 3, "4")[1] == "4, right."
    uncounted = Weaver(straight(), Options(cautions=False, ask_counts=False))
    assert uncounted.say("done", "done", "done", "1 3 2", "done")[1].startswith("Group 1. How many")
    heard = Weaver(straight()).say("done", "done", "1 3", "4", "yes")
    assert heard[1].startswith("4, right. But as you felt it, end 2 is on shaft 3 like its")


@pytest.mark.parametrize(
    "words",
    [
        [CROSSED, "4", "1 2 3 4"],
        [CROSSED, "1 2 3 4", "4"],
        [CROSSED, "4", "look at group 1", "1 2 3 4"],
        [CROSSED, "4", "mend", "yes", *["done"] * 5, "4"],
        [CROSSED, "4", "mend", "mend", "yes", "done", "done", "4"],
        [CROSSED, "4", "accept a trial", "yes"],
    ],
)
def test_felt_right_mended_or_accepted_the_group_closes(words: list[str]) -> None:
    """Each is enough, and the walk goes on with the next group."""
    weaver = at_boundary(*words)
    assert weaver.state.checked == 1
    assert weaver.state.felt_wrong == ()
    assert weaver.heard[-1] == "Block B. Blue. End 5: shaft 1, dent 5."


def test_a_group_with_a_crossing_is_not_affirmed() -> None:
    """Done tells what was felt, at the count and once the number is given; what is offered works,
    and whoever resumes it hears it."""
    weaver = at_boundary(CROSSED)
    assert (
        weaver.say("done")[1] == "Most likely ends 3 and 4 are crossed. Say mend to put it right."
    )
    assert "mend" in fitting(weaver.state, weaver.stage)
    assert weaver.say("4", "done") == HELD
    assert State.from_json(weaver.state.to_json()) == weaver.state
    view = view_of(weaver.state, weaver.stage, "en")
    assert (view.headline, f"4, right. {view.detail}") == ("4 ends, but felt wrong", HELD[1])
    assert walked(weaver.state, weaver.stage)["why"] == "felt not as planned"
    assert weaver.say("mistake")[1] == HELD[1]
    asked = weaver.say("accept")
    assert asked[1] == "Let group 1 stand as you felt it? Say yes or no to that."


def test_what_contradicts_the_number_is_to_be_felt_once_more() -> None:
    """More shafts named than ends counted: no slip is told of it."""
    assert at_boundary("1 2 3 4 1 2", "4").heard[1] == (
        "4, right. But what you felt is not as planned. Name the shafts you feel, or say read "
        "back or accept."
    )


def test_several_slips_are_not_all_told_once_more() -> None:
    """They were told as they were felt, and mend tells them again."""
    heard = at_boundary("4 4 2 2", "4").heard[1]
    assert heard.startswith("4, right. But what you felt is not as planned. Say mend to put it ")


def test_a_number_does_not_leave_a_group_looked_at_in_which_something_was_felt() -> None:
    """The right number is told, and then the crossing; done goes back to the place."""
    weaver = at_boundary("4", "done", "look at group 1", CROSSED)
    assert weaver.say("4")[1:] == ["4, right.", CROSSING]
    assert weaver.say("done")[-1] == "Block B. Blue. End 6: shaft 2, dent 6."


FIRST_16 = "1 2 3 4 " * 4
"""Of a group of 24, as planned."""


def at_count_of_16() -> Weaver:
    weaver = Weaver(stage(read_and_compute(PLANS / "puckered-cloth.toml")[1], "thread"), QUIET)
    weaver.say(*["done"] * 24, "16")
    return weaver


@pytest.mark.parametrize("before", [[], ["look at group 1", "16"]])
def test_ends_missing_at_the_end_are_threaded_and_no_others(before: list[str]) -> None:
    """All that is counted is felt as planned: the rest is missing. The whole group was offered."""
    weaver = at_count_of_16()
    heard = weaver.say(*before, FIRST_16)
    assert heard[:2] == ["<trouble>", "As planned: ends 1 to 16."]
    assert heard[2].endswith(" Say mend to put it right.")
    offered = "Thread end 17 and all after it: 8 ends. Say yes or no to that."
    assert weaver.say("mend")[1] == offered
    assert weaver.say("no", *before[1:], "mend")[1] == offered
    assert weaver.say("yes")[1] == "Back 8 steps."
    assert weaver.state.confirmed == 16


@pytest.mark.parametrize("words", [["24"], ["20", "24"]])
def test_what_is_felt_as_planned_holds_no_right_count(words: list[str]) -> None:
    """Counted again, right or otherwise, the row says no more than that its ends are right."""
    weaver = at_count_of_16()
    weaver.say(FIRST_16)
    assert "24, right." in weaver.say(*words)


def test_nor_does_it_where_a_group_is_looked_at() -> None:
    """The number that is right there leads back to the place, as it does where nothing was felt."""
    weaver = at_count_of_16()
    weaver.say("24", "look at group 1", "16", FIRST_16)
    assert weaver.say("24")[:2] == ["<confirm>", "24, right."]
    assert weaver.state.looking == 0


def test_a_mend_that_is_left_leaves_the_row_right() -> None:
    """One end missing at the end, begun to be tied in and left: a right count passes."""
    weaver = at_boundary("3", "1 2 3")
    assert weaver.say("mend")[1].startswith("Thread end 4.")
    weaver.say("mend", "yes", "back")
    assert weaver.say("mend")[1].startswith("Thread end 4.")
    assert weaver.say("no", "4")[1] == "4, right."


@pytest.mark.parametrize("done", [3, 4])
def test_accept_before_the_count_tells_what_comes_first(done: int) -> None:
    """Told that no count is in doubt, a weaver found no way; what is said now leads to its end."""
    weaver = Weaver(straight(), QUIET)
    weaver.say(*DONE[:done], "1 3 2")
    told = "Count the whole group first, then say accept to let it stand."
    assert weaver.say("accept") == ["<refuse>", told]
    weaver.say(*DONE[done:], "4", "accept", "yes")
    assert (weaver.state.checked, weaver.state.overrides[0].felt) == (1, (1, 3, 2))


def test_dents_felt_wrong_hold_a_group_too() -> None:
    """In the reed the same holds of the ends in each dent."""
    sley = stage(read_and_compute(PLANS / "first-try.toml")[1], "sley")
    weaver = Weaver(sley, QUIET)
    weaver.say(*["done"] * sley.groups[0].last_step)
    assert weaver.state.base is Mode.COUNTING
    heard = weaver.say("1 1 0 1 1 1 1 1 1 1", "10")
    assert heard[1].startswith("10, right. But as you felt it, dent 3 holds 0 instead of 1. Say")


def test_a_crossing_let_stand_is_handed_over(tmp_path: Path) -> None:
    """The next weaver hears which group is not as planned, what was felt there, and why."""
    said = [*["done"] * 8, "1 2 4 3 1 2 3 4", "8", "accept only a trial", "yes", "stop"]
    run(tmp_path, "thread", PLANS / "first-try.toml", "--text", "--lines", lines=said)
    told = (
        "Group 1 stands as it was felt, not as planned. Reason: only a trial. "
        "Felt: 1, 2, 4, 3, 1, 2, 3, 4."
    )
    assert told in run(tmp_path, "handover").stdout
    assert told in run(tmp_path, "log").stdout
