"""Any group at any time: found by touch, mended there, and back to the place.

The errors are those of trade literature: an end left in the lease, two ends crossed in the heddles,
an end on a wrong shaft (Hall and Buck, "Handicrafts for the Handicapped", 1916, on threading, warns
of crossing and of two heddles of one frame in a row); the walks are our own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from front_door import PLANS, run

from companion.command import parse
from companion.guide import Mode, Options, State, events, start, step
from companion.guide.effects import Say
from companion.job import Stage, stage
from companion.loom.compute import read_and_compute
from companion.wording import Style, render

if TYPE_CHECKING:
    from pathlib import Path

    from companion.guide import Event
    from companion.job import StageName

FIRST_TRY = read_and_compute(PLANS / "first-try.toml")[1]
THREADING = stage(FIRST_TRY, "thread-and-sley")
QUIET = Options(cautions=False, tell_help=False, ask_left=False)


class Weaver:
    """Says words to the guide and hears its lines."""

    def __init__(self, walked: Stage = THREADING, options: Options = QUIET) -> None:
        self.stage = walked
        self.state, _ = start(walked, options)
        self.events: list[Event] = []

    def say(self, *words: str) -> list[str]:
        heard: list[str] = []
        for text in words:
            outcome = step(self.state, parse(text), self.stage)
            assert outcome.is_accepted, text
            self.state = outcome.state
            self.events += outcome.events
            heard = [render(each.message, Style()).text for each in outcome.effects
                     if isinstance(each, Say)]  # fmt: skip
        return heard

    def to_end(self, end: int) -> State:
        """Walk as planned until so many ends are confirmed."""
        while self.state.confirmed < end:
            self.say("8" if self.state.mode is Mode.COUNTING else "done")
        return self.state


def mended(weaver: Weaver, *report: str) -> list[str]:
    """Report, have it mended in the first way offered, and return the steps of the mend."""
    weaver.say(*report)
    weaver.say("mend")
    tasks = [*weaver.say("yes")]
    while weaver.state.mode is Mode.MENDING:
        tasks += weaver.say("done")
    return tasks


def test_an_end_forgotten_groups_ago_is_put_in_and_the_walk_goes_on() -> None:
    """End 10 was left out and is missed at end 41's place: a repair heddle, and nothing undone."""
    weaver = Weaver()
    before = weaver.to_end(36)
    told = " ".join(mended(weaver, "look at group 2", "1 3 4 1 2 3 4"))
    assert "Tie a repair heddle on shaft 2" in told
    assert "Put end 10 into dent 10" in told
    assert (weaver.state.confirmed, weaver.state.checked) == (before.confirmed, before.checked)
    assert told.endswith("End 37: shaft 1, dent 37.")
    (made,) = weaver.state.mended
    assert made.group == 2
    assert not any(isinstance(each, events.TakenBack) for each in weaver.events)


def test_two_ends_swapped_in_a_closed_group_are_found_by_touch() -> None:
    """Counts cannot see them; the shafts named do, and the two are drawn in again."""
    weaver = Weaver()
    before = weaver.to_end(20)
    assert weaver.say("look at group 1") == ["Group 1, ends 1 to 8: name the shafts you feel."]
    heard = weaver.say("1 2 4 3 1 2 3 4")
    assert any("changed places" in line or "swapped" in line or "crossed" in line for line in heard)
    assert heard[-1].endswith(" Say mend to put it right.")
    told = " ".join(mended(weaver))
    assert "Draw end 3 through its heddle on shaft 3" in told
    assert weaver.state.confirmed == before.confirmed


def test_a_group_that_is_right_leads_back_at_once() -> None:
    """All of it named as planned, the walk takes up the step it was at."""
    weaver = Weaver()
    weaver.to_end(20)
    heard = weaver.say("look at group 2", "1 2 3 4 1 2 3 4")
    assert heard[0] == "As planned: ends 9 to 16."
    assert "End 21: shaft 1, dent 21." in heard[-1]
    assert weaver.state.mode is Mode.WALKING


def test_where_am_i_while_looking_ends_on_what_is_looked_at() -> None:
    """The walk's own place is told, and then which group is to be felt."""
    weaver = Weaver()
    weaver.to_end(20)
    asked = weaver.say("look at group 1")
    place, last = weaver.say("where am i")
    assert place == "Next end 21. Group 3 of 5."
    assert [last] == asked


def test_a_look_is_left_without_a_trace() -> None:
    """Done goes back to the place; what was reported there is forgotten."""
    weaver = Weaver()
    before = weaver.to_end(20)
    weaver.say("look at group 1", "7", "done")
    assert weaver.state == before


def test_a_count_in_a_closed_group_is_compared_with_that_group() -> None:
    """Seven of eight: one too few there, whatever the present group holds; where it is missing only
    the shafts tell, so they are asked for before any mend is offered: not all since anew."""
    weaver = Weaver()
    weaver.to_end(20)
    assert weaver.say("look at group 3") == ["Group 3, ends 17 to 20: name the shafts you feel."]
    weaver.say("look at group 1")
    assert weaver.say("7") == [
        "Most likely an end is missing. Name the shafts you feel.",
    ]
    assert not step(weaver.state, parse("mend"), weaver.stage).is_accepted
    weaver.say("8")
    assert weaver.state.mode is Mode.WALKING
    assert weaver.say("look at group 2", "8")[0] == "8, right."


@pytest.mark.parametrize("answers", [("done", "done"), ("39", "41")])
def test_heddles_left_over_at_the_end_are_traced_group_by_group(answers: tuple[str, ...]) -> None:
    """One too many on shaft 2, told by number or not: what is felt in a group is what counts there,
    and the group where an end of shaft 2 was threaded on shaft 1 is mended."""
    weaver = Weaver(options=Options(cautions=False, tell_help=False))
    weaver.to_end(40)
    weaver.say("8", *answers)
    while weaver.state.mode is Mode.LEFT_OVER:
        weaver.say("done")
    weaver.say("look at group 1", "1 2 3 4 1 2 3 4")
    told = " ".join(mended(weaver, "look at group 4", "1 2 3 4 1 1 3 4"))
    assert "shaft 2" in told
    assert weaver.state.base is Mode.FINISHED


@pytest.mark.parametrize("name", ["tie-on", "first-picks"])
def test_a_fault_seen_later_is_mended_in_the_threading(name: StageName) -> None:
    """From the first picks, too, any group can be felt and repaired, and the picks go on."""
    weaver = Weaver(stage(FIRST_TRY, name))
    weaver.say("done")
    before = weaver.state
    told = " ".join(mended(weaver, "look at group 3", "1 2 3 3 1 2 3 4"))
    assert "repair heddle on shaft 4" in told
    assert (weaver.state.confirmed, weaver.state.base) == (before.confirmed, before.base)


@pytest.mark.parametrize(
    ("name", "words", "line"),
    [
        ("thread-and-sley", "look at group 9", "Group 9 is not in this plan; the last is group 5."),
        ("thread-and-sley", "look at group 3", "Group 3 is not begun yet."),
        ("raddle", "look at group 1", "No end is in a heddle yet."),
    ],
)
def test_what_cannot_be_looked_at_is_told(name: StageName, words: str, line: str) -> None:
    """One line says why, and nothing changes."""
    walked = stage(FIRST_TRY, name)
    state, _ = start(walked, QUIET)
    outcome = step(state, parse(words), walked)
    assert not outcome.is_accepted
    said = [render(each.message, Style()).text for each in outcome.effects if isinstance(each, Say)]
    assert said[0].startswith(line)


def test_reminders_are_said_where_they_are_wanted() -> None:
    """The cross at each callout of the threading, and a slip knot at each group's end."""
    options = Options(cautions=False, tell_help=False, say_cross=True, say_knot=True)
    weaver = Weaver(options=options)
    (heard,) = weaver.say("done")
    assert heard == "Take the next end from the cross. End 2: shaft 2, dent 2."
    weaver.to_end(8)
    assert "Tie group 1 in a slip knot." in weaver.say("8")
    (heard,) = weaver.say("4 at a time")
    assert heard.startswith("Take the next 4 ends from the cross.")
    assert weaver.say("read back group 1")[-1].startswith("Straight draw")


def test_what_is_found_in_a_group_looked_at_is_told_again() -> None:
    """By repeat, by where am i and after no; of two causes each mend tells which it is for."""
    weaver = Weaver()
    weaver.to_end(20)
    (found,) = weaver.say("look at group 1", "1 2 3 4 1 2 4")
    one, other = (
        "End 7 is on shaft 4 like its neighbour, not on 3.",
        "End 7, shaft 3, is missing.",
    )
    assert found == f"Most likely e{one[1:]} Or e{other[1:]} Say mend to put it right."
    assert weaver.say("repeat") == [found]
    assert weaver.say("where am i") == ["Next end 21. Group 3 of 5.", found]
    told = weaver.say("mend") + weaver.say("mend") + weaver.say("mend")
    assert [line.partition(" Tie a repair heddle ")[0] for line in told if "repair" in line] == [
        one,
        other,
    ]
    assert weaver.say("no")[-1] == found
    assert weaver.say("mistake") == [found]


def test_mistake_while_looking_is_about_the_group_looked_at() -> None:
    """It asked for the count of the present group; one just begun was said to hold nothing."""
    weaver = Weaver()
    before = weaver.to_end(20)
    asked = weaver.say("look at group 1")
    assert weaver.say("mistake") == asked
    assert weaver.events[-1] == events.MistakeReported(1)
    weaver.say("8")
    assert weaver.state == before


@pytest.mark.parametrize("words", [("mend", "yes"), ("rewind 18",)])
def test_undo_brings_nothing_back_that_was_felt_in_a_group_looked_at(
    words: tuple[str, ...],
) -> None:
    """It counted as felt in the present group, where nothing explained it."""
    weaver = Weaver()
    before = weaver.to_end(20)
    weaver.say("look at group 1", "1 2 4 3 1 2 3 4", *words, "undo")
    assert weaver.state.reported == before.reported
    assert not step(weaver.state, parse("mend"), weaver.stage).is_accepted


def test_a_group_of_which_only_the_selvedge_is_in_has_nothing_to_feel() -> None:
    """Shafts named there found no end to compare, and that was no line but a traceback."""
    weaver = Weaver(stage(read_and_compute(PLANS / "lattice-scarf.toml")[1], "thread-and-sley"))
    weaver.say("done")
    assert weaver.stage.steps[0].is_floating
    assert not step(weaver.state, parse("look at group 1"), weaver.stage).is_accepted
    weaver.say("done")
    assert weaver.say("look at group 1", "1")


def test_what_does_not_answer_which_group_has_it_asked_again() -> None:
    """At a wrong count "done" was told to count once more, and the count was taken for a group."""
    weaver = Weaver()
    weaver.to_end(8)
    (asked,) = weaver.say("7", "look at a group")
    refused = step(weaver.state, parse("done"), weaver.stage)
    assert not refused.is_accepted
    assert refused.state == weaver.state
    (said,) = (each for each in refused.effects if isinstance(each, Say))
    assert render(said.message, Style()).text == asked


@pytest.mark.parametrize(("end", "said"), [(9, "look at group 1"), (8, "12")])
def test_a_unit_twice_is_mended_where_all_is_felt(end: int, said: str) -> None:
    """Alike units hang alike wherever the one too many is: to name the shafts was asked for again
    once they all were. The last undoes the least."""
    weaver = Weaver()
    weaver.to_end(end)
    weaver.say(said)
    assert weaver.say("1 2 3 4 1 2 3 4 1 2 3 4")[-1].endswith(
        "Most likely a unit of 4 ends is there twice, before end 9. Say mend to put it right."
    )
    tasks = mended(weaver, "repeat")
    assert "Find the extra end on shaft 4, just before end 9." in tasks
    assert "Pull 4 ends out for good, from there back." in tasks


def test_dents_are_felt_as_far_as_they_go() -> None:
    """Whoever feels an empty dent need not feel on to the last."""
    weaver = Weaver(stage(FIRST_TRY, "sley"))
    weaver.to_end(4)
    assert weaver.say("1 1 0")[-1] == (
        "Most likely a dent is left empty before dent 3. Say mend to put it right."
    )


def test_more_dents_than_planned_in_a_group_looked_at_are_to_be_felt() -> None:
    """No slip of sleying explains them, and so nothing else was said to be wrong."""
    weaver = Weaver(stage(FIRST_TRY, "sley"))
    weaver.to_end(9)
    asked = weaver.say("look at group 1")
    assert weaver.say("12") == asked


def test_in_a_reading_no_count_is_asked_for_that_is_not_taken_there() -> None:
    """Mend, where nothing was threaded, named the count first; the reading has to be left first."""
    weaver = Weaver(stage(read_and_compute(PLANS / "striped-towels.toml")[1], "wind"))
    weaver.say("done", "1", "1", "read back")
    refused = step(weaver.state, parse("mend"), weaver.stage)
    (said,) = (each for each in refused.effects if isinstance(each, Say))
    told = "A group is being read: say done to read on, or resume to leave it."
    assert render(said.message, Style()).text == told


def test_of_a_stage_that_is_past_no_reading_is_offered() -> None:
    """It read the present stage's group there; the threading's is felt."""
    weaver = Weaver(stage(FIRST_TRY, "tie-on"))
    asked = weaver.say("look at group 1")
    heard = weaver.say("4 4 4 2 2 1 4 3 4 4 4 4 2 2 2 2")
    again = "That is more than a slip or two: feel along once more, end by end."
    assert heard[-1] == again
    for words, told in (("mend", again), ("read back", asked[0])):
        refused = step(weaver.state, parse(words), weaver.stage)
        assert not refused.is_accepted
        (said,) = (each for each in refused.effects if isinstance(each, Say))
        assert render(said.message, Style()).text == told


def test_what_no_mend_can_be_walked_for_is_not_offered_one() -> None:
    """Only threading anew puts in a unit left out, and at the first picks that stage is past; mend
    asked for the shafts again, for ever. What is said can be: done leads back to the place."""
    weaver = Weaver(stage(read_and_compute(PLANS / "striped-towels.toml")[1], "first-picks"))
    before = weaver.state
    told = "All from end 9 on would have to be threaded again. Say done to leave it."
    weaver.say("look at group 2", "6")
    assert weaver.say("1 2 3 4 3 2") == [
        f"Most likely the unit of ends 9 to 12 is left out. {told}"
    ]
    refused = step(weaver.state, parse("mend"), weaver.stage)
    assert not refused.is_accepted
    (said,) = (each for each in refused.effects if isinstance(each, Say))
    assert render(said.message, Style()).text == told
    weaver.say("done")
    assert weaver.state == before


def test_a_shaft_that_the_loom_has_not_is_not_felt_in_a_reading() -> None:
    """A count given there was compared as a shaft."""
    weaver = Weaver()
    weaver.to_end(20)
    weaver.say("read back")
    refused = step(weaver.state, parse("count 13"), weaver.stage)
    assert not refused.is_accepted
    (said,) = (each for each in refused.effects if isinstance(each, Say))
    assert "13" in render(said.message, Style()).text


@pytest.mark.parametrize(
    ("words", "heard", "offered"),
    [
        ("7", "foobar", 'Say a number, "mend", "mistake" or "help" instead.'),
        ("7", "dun", 'Say a number, "mend", "mistake" or "help" instead.'),
        ("7", "accpet", 'Say "accept" instead.'),
        ("7", "rewind", 'say "rewind 4", for example.'),
        ("8 pause", "foobar", 'Say "resume", "repeat", "where am i" or "help" instead.'),
        ("1,2,4,3 mend", "dun", 'Say "yes", "no", "mend" or "help" instead.'),
        ("7 7 mend", "foobar", 'Say "yes", "no", "repeat" or "help" instead.'),
        ("1,2,4,3 mend yes", "mned", 'Say "mend" instead.'),
        ("1,2,4,3 mend yes", "accpet", 'Say "done", "back", "read back" or "help" instead.'),
        ("look", "foobar", 'Say a number, "no", "repeat" or "help" instead.'),
    ],
)
def test_for_a_word_that_is_no_command_only_what_can_be_said_now_is_offered(
    words: str, heard: str, offered: str, tmp_path: Path
) -> None:
    """At a wrong count neither "done" nor "back" leads on, however near the word comes to it."""
    before = [each.replace(",", " ").replace("look", "look at a group") for each in words.split()]
    lines = [*["done"] * 8, *before, heard, "stop"]
    walked = run(tmp_path, "thread", PLANS / "first-try.toml", "--text", lines=lines)
    assert any(line.endswith(offered) for line in walked.stdout.splitlines())


def test_it_works_through_the_front_door(tmp_path: Path) -> None:
    """By typed words, with the record telling the mend, and the place as it was."""
    lines = [*["done"] * 8, "8", *["done"] * 8, "8", "done", "look at group 1", "1 2 4 3 1 2 3 4"]
    lines += ["mend", "yes", *["done"] * 5, "where am i", "stop"]
    walked = run(tmp_path, "thread", PLANS / "first-try.toml", "--text", lines=lines)
    assert "Group 1, ends 1 to 8: name the shafts you feel." in walked.stdout
    assert "18: shaft 2, dent 18" in walked.stdout
    assert "step 17 of 40" in run(tmp_path, "sessions").stdout
