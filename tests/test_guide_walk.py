"""The walk as the weaver lives it: what she says, and the lines she gets."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, get_args

import pytest
from front_door import PLANS
from made_stages import Made, make_stage, straight

from companion.command import Kind, parse
from companion.guide import (
    ChangeRate,
    Leave,
    Mode,
    Options,
    Say,
    State,
    Tone,
    read_on,
    start,
    step,
    taken_up,
    welcome_back,
)
from companion.guide.events import Confirmed, Counted
from companion.guide.fits import check_fits
from companion.guide.messages import Opening, WelcomeBack
from companion.guide.refuse import fitting
from companion.job import stage as stage_of
from companion.loom.compute import read_and_compute
from companion.wording import Style, render
from companion.wording.openings import begun, opening

if TYPE_CHECKING:
    from companion.guide import Effects, Event
    from companion.job import Stage, StageName

QUIET = Options(cautions=False, tell_help=False)


def lines(effects: Effects) -> list[str]:
    """Return what is printed, tones in angle brackets."""
    shown: list[str] = []
    for effect in effects:
        match effect:
            case Say(message):
                shown.append(render(message, Style()).text)
            case Tone(tune):
                shown.append(f"<{tune}>")
            case ChangeRate(direction):
                shown.append(f"<rate {direction:+}>")
            case Leave():
                shown.append("<leave>")
    return shown


class Weaver:
    """Says words to the guide and hears its lines."""

    def __init__(self, stage: Stage, options: Options = QUIET) -> None:
        self.stage = stage
        self.state, effects = start(stage, options)
        self.heard = lines(effects)
        self.events: tuple[Event, ...] = ()

    def say(self, *words: str) -> list[str]:
        """Return the lines that the last of these words brings."""
        for text in words:
            outcome = step(self.state, parse(text), self.stage)
            self.state, self.heard = outcome.state, lines(outcome.effects)
            self.events = outcome.events
        return self.heard


ENDS_ASKED = "Group 1. How many ends are in heddles?"
FIVE = (
    "5, but 4 are planned. Most likely a heddle holds two ends. Name the shafts you feel, or say "
    "mistake for more."
)
TABLE = [
    ("done", ["<confirm>", "End 2: shaft 2, dent 2."]),
    ("done", ["<confirm>", "End 3: shaft 3, dent 3."]),
    (
        "back",
        [
            "<confirm>",
            "Back one step.",
            "Block A. White. End 2: shaft 2, dent 2.",
        ],
    ),
    ("repeat", ["Block A. White. End 2: shaft 2, dent 2."]),
    ("done", ["<confirm>", "End 3: shaft 3, dent 3."]),
    ("done", ["<confirm>", "End 4: shaft 4, dent 4."]),
    (
        "where am i",
        [("Next, end 4: shaft 4, dent 4. White, block A. Group 1 of 3. 1 to go in it, 9 in all.")],
    ),
    ("done", ["<boundary>", ENDS_ASKED]),
    ("done", ["<confirm>", "4 ends planned. Done once more if that is your count."]),
    ("count five", ["<trouble>", "5, but 4 are planned. Count once more."]),
    ("count five", ["<trouble>", FIVE]),
    (
        "4",
        [
            "<confirm>",
            "4, right.",
            "Group 2.",
            "Block B. Blue. End 5: shaft 1, dent 5.",
        ],
    ),
    (
        "undo",
        [
            "<confirm>",
            "The last change is undone.",
            FIVE,
        ],
    ),
    (
        "accept counted by touch",
        [
            "<confirm>",
            "Let group 1 stand with 5 ends instead of 4? Say yes or no to that.",
        ],
    ),
    (
        "yes",
        [
            "<confirm>",
            "Group 1 stands with 5 instead of 4. Reason: counted by touch.",
            "Group 2.",
            "Block B. Blue. End 5: shaft 1, dent 5.",
        ],
    ),
    ("pause", ["<confirm>", "Resting. Your place is kept. Say resume to go on."]),
    (
        "done",
        [
            "<refuse>",
            "You are resting; say resume to go on.",
        ],
    ),
    (
        "resume",
        ["<confirm>", "Going on.", "Block B. Blue. End 5: shaft 1, dent 5."],
    ),
    ("slower", ["<rate -1>", "Slower from here on."]),
    ("faster", ["<rate +1>", "Faster from here on."]),
    (
        "stop",
        [
            "Your place is kept: 4 of 12 steps done. Type companion resume to go on.",
            "<leave>",
        ],
    ),
]


def test_a_walk_reads_as_a_conversation() -> None:
    """Word by word, what a weaver says at a straight draw and what she hears."""
    weaver = Weaver(straight())
    assert weaver.heard == [
        (
            "Threading and sleying. Start at the right edge, seen from the front. Leave 1 dent "
            "empty there. Shaft 1 is the front shaft."
        ),
        "Block A. White. End 1: shaft 1, dent 1.",
    ]
    assert [(words, weaver.say(words)) for words, _ in TABLE] == TABLE


def test_the_start_tells_cautions_and_how_to_get_help() -> None:
    """A new weaver hears how to sit, whom to ask, and the one word that explains the rest."""
    heard = Weaver(straight(), Options()).heard
    assert "ask a doctor or a physiotherapist" in heard[1]
    assert heard[2] == 'Say "tell everything" for more, "help" for the words.'


def test_who_knows_the_work_hears_where_to_begin_in_one_breath() -> None:
    """The edge, the dents to leave, shaft 1, and the first end: where am I tells no more, but how
    much there is to go; tell everything tells all of the stage."""
    weaver = Weaver(straight(), Options(opening="brief", cautions=False, tell_help=False))
    assert weaver.heard == [
        "Threading from the right after 1 dent, shaft 1 in front.",
        "End 1: shaft 1, dent 1.",
    ]
    (told,) = weaver.say("where am i")
    assert told == f"{begun(straight(), 'brief')} Next, end 1: shaft 1, dent 1. 12 to go."
    assert weaver.say("tell everything")[1:] == [
        f"Threading and sleying. {opening(straight())} 12 steps in 3 groups.",
        "Group 1 of 3.",
        "Block A. White. End 1: shaft 1, dent 1.",
    ]
    assert len(weaver.say("done", "tell everything")) == 2
    weaver.say("back")
    assert "Group 1" in weaver.say("done", "where am i")[0]
    assert weaver.heard[0].startswith("Next, end 2")


def test_where_am_i_at_a_count_tells_the_group_and_what_is_asked() -> None:
    """Neither the end that comes after it nor what is left in all; so with a part of a group."""
    weaver = Weaver(straight(groups=2))
    asked = "Group 1 of 2. How many ends are in heddles?"
    assert weaver.say(*["done"] * 4, "where am i") == [asked]
    assert weaver.say("undo", "mistake", "where am i") == [
        "Group 1 of 2. So far: how many ends are in heddles?"
    ]


def test_nobody_who_begins_is_told_less_than_she_needs() -> None:
    """Edge, empty dents and shaft 1 are in every telling of every pass."""
    for name in ("thread", "sley", "thread-and-sley"):
        for telling in get_args(Opening):
            said = begun(straight(name=name), telling)
            assert "the right" in said
            told = ("leave 1" in said.lower(), "after 1 dent" in said.lower())
            assert any(told) == (name != "thread")
            assert ("shaft 1" in said.lower()) == (name != "sley")


def test_the_last_boundary_ends_the_stage_with_its_totals() -> None:
    """The closing line gives the totals and every count that was let stand."""
    weaver = Weaver(straight(groups=2, length=2))
    weaver.say("done", "done", "1", "accept", "yes", "done", "done")
    assert weaver.say("2") == [
        "<finish>",
        "2, right.",
        ("Threading and sleying is complete: 4 ends in 2 groups. Not as planned: group 1."),
    ]
    assert weaver.say("done")[0] == "<refuse>"


def test_without_counts_the_walk_goes_from_group_to_group() -> None:
    """A weaver who set counts off only hears where a group ends."""
    weaver = Weaver(straight(groups=2, length=2), Options(ask_counts=False, cautions=False))
    assert weaver.say("done", "done") == [
        "<boundary>",
        "Group 1 is complete: 2 ends.",
        "Group 2.",
        "Block B. Blue. End 3: shaft 1, dent 3.",
    ]


def test_done_twice_affirms_a_count() -> None:
    """A weaver with one switch is told the number, affirms it, and it is told as not counted."""
    weaver = Weaver(straight(groups=2, length=2))
    weaver.say("done", "done")
    assert weaver.say("done") == [
        "<confirm>",
        "2 ends planned. Done once more if that is your count.",
    ]
    assert weaver.say("done")[1] == "Group 1 stands, not counted."
    weaver.say("done", "done", "done", "yes")
    assert weaver.state.affirmed == (1, 2)
    assert weaver.say("where am i")[-1] == "That was the last step."


def test_with_shafts_alone_a_boundary_is_a_question_and_its_answer() -> None:
    """What the weaver knows, the group's number, is not told; heard anew it is."""
    weaver = Weaver(straight(groups=2), replace(QUIET, detail="shafts"))
    assert weaver.say("done", "done", "done", "done", "4") == [
        "<confirm>",
        "4, right.",
        "Block B. Blue. Shaft 1.",
    ]
    assert weaver.say("done", "done", "done", "done") == ["<boundary>", "How many?"]
    assert weaver.say("repeat") == ["Group 2. How many ends are in heddles?"]


def test_a_number_or_no_answers_as_well() -> None:
    """A number is a count all the same, and no asks for it again."""
    weaver = Weaver(straight(groups=2, length=2))
    weaver.say("done", "done", "done")
    assert weaver.say("no")[-1].startswith("Group 1. How many")
    weaver.say("done")
    assert weaver.say("2")[1] == "2, right."
    assert weaver.state.affirmed == ()


def test_a_count_found_wrong_is_never_affirmed() -> None:
    """Not even after the group was gone through again; a right number closes it."""
    weaver = Weaver(straight(groups=2, length=2))
    weaver.say("done", "done", "1")
    assert weaver.say("done")[0] == "<refuse>"
    weaver.say("back", "done")
    assert weaver.say("done")[0] == "<refuse>"
    assert weaver.say("2")[1] == "2, right."
    weaver.say("done", "done")
    assert weaver.say("done")[0] == "<confirm>"


def test_a_weaver_may_demand_counts_of_herself() -> None:
    """With that setting only a number closes a group."""
    weaver = Weaver(straight(groups=2, length=2), Options(demand_counts=True))
    weaver.say("done", "done")
    assert weaver.say("done")[0] == "<refuse>"


def test_done_does_not_affirm_a_count_asked_for_after_a_mistake() -> None:
    """After a reported mistake only a number will do, even with one switch."""
    weaver = Weaver(straight())
    assert weaver.say("done", "mistake")[1] == "Group 1 so far: how many ends are in heddles?"
    assert weaver.say("done")[0] == "<refuse>"
    assert weaver.say("1")[1] == "1 so far, right."


def test_a_count_that_runs_ahead_asks_whether_more_was_done_than_confirmed() -> None:
    """Who threads on by herself and then counts need not confirm end by end, nor have it stand."""
    weaver = Weaver(straight(groups=2, length=8))
    asked = "3, but only 1 is confirmed. Are the next 2 steps done too, up to end 3?"
    assert weaver.say("done", "count 3")[1] == f"{asked} Say yes or no to that."
    check_fits(weaver.state, weaver.stage)
    assert not weaver.events
    here = "Block A. White. End 4: shaft 4, dent 4."
    assert weaver.say("yes")[1:] == ["3 so far, right.", here]
    assert list(map(type, weaver.events)) == [Confirmed, Counted]
    assert weaver.say("count 8", "yes")[1:3] == ["8, right.", "Group 2."]
    assert weaver.say("undo")[2] == here


def test_a_count_of_dents_that_runs_ahead_names_the_last_end_in_them() -> None:
    """Three dents of two ends hold ends 1 to 6; the first end of the third is not where it ends."""
    weaver = Weaver(make_stage("sley", [("", [Made((1, 2)), Made((3, 4))] * 2)]))
    assert "Are the next 2 steps done too, up to end 6?" in weaver.say("done", "count 3")[1]


def test_a_count_that_runs_ahead_is_wrong_where_no_more_was_done() -> None:
    """No holds the walk as ever; so does a count that no step of the group comes to."""
    weaver = Weaver(straight(groups=2, length=8))
    held = ["<trouble>", "2 so far, but 1 is planned. Count once more."]
    assert weaver.say("done", "count 3", "count 2")[1].startswith("2, but only 1 is confirmed.")
    assert weaver.say("no") == held
    assert weaver.say("undo", "count 9")[0] == "<trouble>"


def test_what_was_only_read_on_is_not_confirmed() -> None:
    """The pace reads to the group's end and waits; coming back, the walk begins before it."""
    weaver = Weaver(straight(groups=2))
    weaver.say("done")
    state = weaver.state
    for reached in (2, 3, 4):
        outcome = read_on(state, weaver.stage)
        assert outcome is not None
        state = outcome.state
        assert (state.confirmed, state.sure) == (reached, 1)
    assert state.mode is Mode.COUNTING
    assert read_on(state, weaver.stage) is None
    again, effects = taken_up(state, weaver.stage)
    assert (again.confirmed, again.sure, again.mode) == (1, 1, Mode.WALKING)
    said = render(next(each.message for each in effects if isinstance(each, Say)), Style()).text
    assert "Read since, but not confirmed: ends 2 to 4." in said


@pytest.mark.parametrize(("command", "sure"), [("4", 4), ("3", 1)])
def test_a_right_count_confirms_what_was_read_on(command: str, sure: int) -> None:
    """A wrong one does not."""
    weaver = Weaver(straight(groups=2))
    weaver.say("done")
    for _ in range(3):
        outcome = read_on(weaver.state, weaver.stage)
        assert outcome is not None
        weaver.state = outcome.state
    weaver.say(command)
    assert weaver.state.sure == sure


def test_a_press_confirms_all_that_was_read_on() -> None:
    """With the step in hand; going back goes step by step, and what is before stays unsure."""
    weaver = Weaver(straight(groups=2))
    for _ in range(2):
        outcome = read_on(weaver.state, weaver.stage)
        assert outcome is not None
        weaver.state = outcome.state
    weaver.say("back")
    assert (weaver.state.confirmed, weaver.state.sure) == (1, 0)
    weaver.say("done")
    assert (weaver.state.confirmed, weaver.state.sure) == (2, 2)


def test_the_pace_is_set_by_words() -> None:
    """On, a little longer, a little shorter, and off again."""
    weaver = Weaver(straight())
    assert weaver.say("keep going every 4") == ["<confirm>", "Going on every 4 seconds."]
    assert weaver.say("more time")[-1] == "Going on every 5 seconds."
    assert weaver.say("less time", "less time")[-1] == "Going on every 3 seconds."
    assert weaver.say("wait for me")[-1] == "Waiting for you."
    assert weaver.say("keep going every 200")[1].startswith("The pace can be 1 to 120")


def test_what_a_wrong_count_means_is_told_once_it_is_sure() -> None:
    """Counted twice alike, or asked for; two different counts only ask for another."""
    weaver = Weaver(straight())
    assert weaver.say(*["done"] * 4, "5")[1] == "5, but 4 are planned. Count once more."
    assert weaver.say("3")[1] == "3, but 4 are planned. Count once more."
    assert weaver.say("repeat") == ["3, but 4 are planned. Count once more."]
    assert weaver.say("mistake")[1].startswith("Most likely an end is missing, or ")
    assert weaver.say("5")[1] == "5, but 4 are planned. Count once more."
    assert weaver.say("5")[1] == FIVE
    assert weaver.say("back", "done", "5")[1] == "5, but 4 are planned. Count once more."


@pytest.mark.parametrize(
    ("counted", "causes"),
    [
        ("11", "an end is missing, or a step was confirmed twice."),
        ("13", "a heddle holds two ends, or there is an extra end, or a step was not confirmed."),
        (
            "8",
            "a unit of 4 ends is left out, or some steps were confirmed twice.",
        ),
        (
            "4",
            "2 units of 4 ends are left out, or some steps were confirmed twice.",
        ),
        (
            "16",
            "a unit of 4 ends is there twice, or some steps were not confirmed.",
        ),
    ],
)
def test_a_wrong_count_names_the_likely_causes_in_this_group(counted: str, causes: str) -> None:
    """A difference of whole units points to a unit, and any other to slips of single ends."""
    units = [Made((shaft,), unit) for unit in range(3) for shaft in (1, 2, 3, 4)]
    stage = make_stage("thread", [("", units)], ("rosepath",) * 3)
    weaver = Weaver(stage)
    heard = weaver.say(*["done"] * 12, counted, "mistake")
    assert heard[1].startswith(f"Most likely {causes} Name the shafts you feel, or say mend ")


def test_a_count_so_far_is_of_ends_and_not_of_steps() -> None:
    """In the middle of a group the ends of chunks are counted, floating selvedges are not."""
    made = [Made(()), Made((1, 2, 3)), Made((4, 4), is_doubled=True), Made((1, 2))]
    weaver = Weaver(make_stage("thread-and-sley", [("", made)]))
    assert weaver.say("done", "done", "done", "count 5")[1] == "5 so far, right."


def test_a_chunk_left_out_is_recognised() -> None:
    """A difference of one step's ends points to that step."""
    stage = make_stage("thread", [("", [Made((1, 2, 3), 0), Made((4,), 1), Made((1, 2), 2)])])
    heard = Weaver(stage).say("done", "done", "done", "4", "mistake")
    assert "Most likely a step of 2 ends was left out, or " in heard[1]


def test_after_a_floating_selvedge_alone_no_ends_are_told_of() -> None:
    """Nobody would say "0 ends so far"."""
    walked = stage_of(read_and_compute(PLANS / "point-runner.toml")[1], "thread-and-sley")
    message = WelcomeBack(walked, walked.groups[0], 1, 0)
    assert render(message, Style()).text == "Threading, group 1."


def test_doubled_ends_and_floating_selvedges_explain_a_count() -> None:
    """Ends that share a heddle and ends that have none are the first causes to be named."""
    doubled = [Made((1, 1), is_doubled=True), Made((2,)), Made((3,))]
    weaver = Weaver(make_stage("thread-and-sley", [("", [Made(()), *doubled])]))
    few = weaver.say("done", "done", "done", "done", "3", "mistake")
    assert few[1].startswith("Most likely two ends in one heddle were counted as one, or an end is")
    many = weaver.say("5", "5")
    assert "Most likely the floating selvedge was counted too. Count once more, or " in many[1]


def test_dents_are_counted_when_sleying() -> None:
    """Sleying counts the dents that hold ends; ends or empty dents counted instead are named."""
    dents = [Made((1, 2)), Made((3, 4), empty_dents=1), Made((1, 2))]
    weaver = Weaver(make_stage("sley", [("", dents)]))
    assert weaver.heard[-1] == "Dent 1: ends 1 and 2, shafts 1, 2."
    assert weaver.say("done")[1] == "Leave 1 dent empty. Dent 3: ends 3 and 4, shafts 3, 4."
    assert weaver.say("done", "done")[1] == ("Group 1. How many dents hold ends?")
    assert "Most likely a dent was counted that stays empty. Count once" in weaver.say("4", "4")[1]
    assert "Most likely you counted the ends, not the dents. Count once" in weaver.say("6", "6")[1]
    assert (
        "Most likely the ends of two dents are in one. Name the ends in each dent, or "
        in (weaver.say("2", "2")[1])
    )


def test_rewinding_within_the_group_needs_no_question() -> None:
    """Ends of the group in hand are taken away at once."""
    weaver = Weaver(straight())
    assert weaver.say("done", "done", "done", "rewind to 2") == [
        "<confirm>",
        "Back 2 steps.",
        "Block A. White. End 2: shaft 2, dent 2.",
    ]


def test_rewinding_into_a_checked_group_is_asked_back() -> None:
    """Opening a checked group waits for yes; anything else leaves all as it was."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "4", "done")
    before = weaver.state
    assert weaver.say("rewind 3") == [
        "<confirm>",
        (
            "Go back to end 3? That takes back 3 steps and opens 1 counted group. Say yes or no to "
            "that."
        ),
    ]
    assert weaver.say("done")[:2] == ["<refuse>", "Nothing changed."]
    assert weaver.state == before
    assert weaver.say("rewind 3", "yes") == [
        "<confirm>",
        "Back 3 steps. Count again from group 1 on.",
        "Block A. White. End 3: shaft 3, dent 3.",
    ]
    assert weaver.say("undo")[-1] == "Block B. Blue. End 6: shaft 2, dent 6."


def test_rewinding_when_sleying_finds_the_dent() -> None:
    """An end stands for the dent that holds it."""
    stage = make_stage("sley", [("", [Made((1, 2)), Made((3, 4)), Made((1, 2))])])
    weaver = Weaver(stage)
    assert weaver.say("done", "done", "rewind 4")[-1] == "Dent 2: ends 3 and 4, shafts 3, 4."


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("rewind 99", "End 99 is not in this plan; the last is end 12."),
        ("rewind 5", "End 5 is not confirmed yet."),
        ("rewind 1", "End 1 is not confirmed yet."),
        ("read back group 9", "Group 9 is not in this plan; the last is group 3."),
        ("read back from 99", "End 99 is not in this plan; the last is end 12."),
        ("read back", "This is the first step; nothing is confirmed yet."),
        ("back", "This is the first step; nothing is confirmed yet."),
        ("undo", "There is no change to undo yet."),
        ("yes", "Nothing was asked."),
        ("accept", "No count is in doubt here."),
        ("resume", "You are not resting."),
        ("mistake", "Nothing is done in this group yet."),
        ("9", "Nothing is done in this group yet."),
        ("20 30", "Nothing is done in this group yet."),
    ],
)
def test_what_does_not_fit_is_refused_with_its_reason(words: str, line: str) -> None:
    """At the first end, a command that has nothing to act on says why and changes nothing."""
    weaver = Weaver(straight())
    before = weaver.state
    tone, said = weaver.say(words)
    assert (tone, said) == ("<refuse>", line)
    assert weaver.state == before


def test_a_count_heard_twice_does_no_harm() -> None:
    """The echo of a right count only asks whether the group that has just begun is done; with no,
    with done or with the count of no step it is left as it is."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "4")
    before = weaver.state
    for answer in ("no", "done"):
        assert weaver.say("4")[1] == (
            "4, but none is confirmed yet. Are the next 4 steps done too, up to end 8? Say yes or "
            "no to that."
        )
        assert weaver.say(answer)[-1] == "Block B. Blue. End 5: shaft 1, dent 5."
        assert weaver.state == before
    assert weaver.say("7") == ["<refuse>", "Nothing is done in this group yet."]


def test_hands_that_are_a_whole_group_ahead_are_asked_about() -> None:
    """Before the first step, too: yes confirms what the count tells, up to the group's end."""
    weaver = Weaver(straight())
    assert weaver.say("2", "yes")[-1] == "Block A. White. End 3: shaft 3, dent 3."
    weaver.say("4", "yes")
    assert weaver.say("4", "yes")[1:] == [
        "4, right.",
        "Group 3.",
        "Block A. End 9: shaft 1, dent 9.",
    ]


def test_a_group_is_read_back_end_by_end() -> None:
    """Each done reads the next end; back reads the one before; then all is as it was."""
    weaver = Weaver(straight())
    weaver.say("done", "done", "done")
    assert weaver.say("read back") == [
        "<confirm>",
        "Reading group 1 from end 1.",
        "Block A. White. End 1: shaft 1, dent 1.",
    ]
    assert weaver.say("done") == ["<confirm>", "End 2: shaft 2, dent 2."]
    assert weaver.say("back")[-1] == "Block A. White. End 1: shaft 1, dent 1."
    assert weaver.say("repeat") == ["Block A. White. End 1: shaft 1, dent 1."]
    assert weaver.say("done", "done", "done") == [
        "<confirm>",
        "End of the reading.",
        "Block A. White. End 4: shaft 4, dent 4.",
    ]


def test_a_reading_stays_at_its_first_end() -> None:
    """Before the first end of a read-back there is nothing to read."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "4", "done", "done", "read back")
    assert weaver.say("back")[-1] == "Block B. Blue. End 5: shaft 1, dent 5."


@pytest.mark.parametrize("words", ["rewind 2", "undo"])
def test_changing_the_work_ends_a_reading(words: str) -> None:
    """A weaver who hears the wrong end goes there at once; the reading is over."""
    weaver = Weaver(straight())
    heard = weaver.say("done", "done", "read back", words)
    assert heard[-1] == "Block A. White. End 2: shaft 2, dent 2."
    assert weaver.say("done")[-1] == "End 3: shaft 3, dent 3."


def test_right_after_a_boundary_the_group_before_is_read() -> None:
    """There is nothing yet in the new group, so the last one is meant."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "4")
    assert weaver.say("read back")[1] == "Reading group 1 from end 1."


def test_a_group_ahead_is_read_as_a_plan() -> None:
    """Reading ahead says that it is not confirmed."""
    heard = Weaver(straight()).say("read back group 3")
    assert heard[1] == "Reading group 3 from end 9, not confirmed yet."


def test_a_mistake_found_while_reading_offers_to_go_there() -> None:
    """The end just read is where the walk would go on."""
    weaver = Weaver(straight())
    weaver.say("done", "done", "done", "read back", "done")
    assert weaver.say("mistake") == [
        "<trouble>",
        "Go back to end 2? That takes back 2 steps. Say yes or no to that.",
    ]
    assert weaver.say("yes")[-1] == "Block A. White. End 2: shaft 2, dent 2."


def test_shafts_felt_are_compared_with_the_plan() -> None:
    """Spoken in order, the shafts show two ends that changed places, which no count can."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4)
    assert weaver.say("one two four three") == [
        "<trouble>",
        "Most likely ends 3 and 4 are crossed. Say mend to put it right.",
    ]
    assert weaver.say("1 2 3 4") == [
        "<confirm>",
        "As planned: ends 1 to 4.",
        ENDS_ASKED,
    ]
    assert (
        weaver.say("1 2 3 4 1 2")[1]
        == "The plan ends here with end 4; the next you feel is on shaft 1."
    )


def test_a_shaft_that_is_not_on_the_loom_was_misheard() -> None:
    """It is refused by its number, in a group looked at too; no slip is made of it."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4)
    told = ["<refuse>", "Shaft 122 is not on this loom; the last is shaft 4."]
    assert weaver.say("1 2 122 4") == told
    weaver.say("4", "look at group 1")
    assert weaver.say("1 2 122 4") == told


def test_hands_ahead_of_the_words_are_no_mistake() -> None:
    """Shafts felt beyond the steps confirmed, as the plan goes on, are as planned and may count as
    done; what is extra there is pulled out, and nothing is threaded anew for it."""
    weaver = Weaver(straight(groups=1, length=8))
    weaver.say("done", "done", "done")
    assert weaver.say("1 2 3 4 1 2")[1:] == [
        "As planned: ends 1 to 6.",
        (
            "6, but only 3 are confirmed. Are the next 3 steps done too, up to end 6? Say yes or "
            "no to that."
        ),
    ]
    weaver.say("yes")
    assert weaver.state.confirmed == 6
    weaver.say("undo", "1 2 3 3")
    assert weaver.say("mend")[1].startswith("The heddle of end 3, shaft 3, holds two ends. Pull")
    assert "Back 0 steps." not in weaver.say("mend", "yes")
    assert weaver.state.confirmed == 2


def test_shafts_felt_while_reading_move_it_on() -> None:
    """A read-back goes on behind what was felt right and stays at what was not."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "read back")
    assert weaver.say("one two") == [
        "<confirm>",
        "As planned: ends 1 and 2.",
        "End 3: shaft 3, dent 3.",
    ]
    assert weaver.say("four")[1] == "End 3: shaft 3 is planned, you feel shaft 4."
    assert weaver.say("three four")[2] == "End of the reading."


def test_digits_at_a_boundary_are_a_count() -> None:
    """Where a count is due, "one two" is 12 and not two shafts."""
    weaver = Weaver(straight(groups=1, length=12))
    assert weaver.say(*["done"] * 12, "one two")[1] == "12, right."


@pytest.mark.parametrize("typed", ["1,2,3", "1 2 3", "count 1,2,3"])
def test_numbers_typed_apart_are_no_count(typed: str) -> None:
    """At a count "1,2,3" is a row of shafts, and not 123; where there are none it is asked for."""
    assert Weaver(straight()).say(*["done"] * 4, typed)[1:] == [
        "As planned: ends 1 to 3.",
        ENDS_ASKED,
    ]
    raddle = stage_of(read_and_compute(PLANS / "first-try.toml")[1], "wind")
    assert Weaver(raddle).say("done", typed)[1] == "Give one number here."


def test_taking_away_a_boundary_says_that_the_group_opens() -> None:
    """Going back into a checked group is said, and the group is counted anew."""
    weaver = Weaver(straight())
    heard = weaver.say(*["done"] * 4, "4", "back")
    assert heard[1] == "Back one step. Count again from group 1 on."
    assert weaver.say("done")[1] == ENDS_ASKED


def test_a_question_can_be_heard_once_more() -> None:
    """Repeat asks the same question again and does not answer it."""
    weaver = Weaver(straight())
    question = weaver.say(*["done"] * 4, "3", "accept")
    assert weaver.say("repeat") == question[1:]
    assert weaver.say("no")[:2] == ["<confirm>", "Nothing changed."]


def test_who_stops_after_the_last_step_is_not_told_to_go_on() -> None:
    """Resume would find everything complete."""
    weaver = Weaver(straight(groups=1))
    weaver.say(*["done"] * 4, "4")
    assert weaver.say("stop")[0] == "Your place is kept: 4 of 4 steps done."


def test_a_reason_may_be_given_at_the_question_itself() -> None:
    """Accept alone is asked about; said again with a reason it is asked about with that reason."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "3", "accept", "accept a gap is wanted", "yes")
    assert [each.reason for each in weaver.state.overrides] == ["a gap is wanted"]


def test_a_reason_that_reads_mended_offers_no_mend() -> None:
    """Only a new plan that is mended for has another way; a reason is the weaver's own words."""
    weaver = Weaver(straight())
    weaver.say(*["done"] * 4, "3", "accept mended")
    assert Kind.MEND not in fitting(weaver.state, weaver.stage)


def test_help_names_what_fits_now() -> None:
    """Help is short, and differs from mode to mode."""
    weaver = Weaver(straight())
    walking = weaver.say("help")[0]
    assert walking.startswith("Done: next. A number: your count. Repeat: ")
    walking = weaver.say("done", "help")[-1]
    assert walking.startswith("Done: next. Back: one step back. A number: your count.")
    paused = weaver.say("pause", "help")[0]
    assert paused.startswith("Resume: go on. Repeat: say it again.")
    reading = weaver.say("resume", "read back", "help")[0]
    assert reading.startswith(
        "Done: read on. Back: the step before. A number: the shafts you feel."
    )


@pytest.mark.parametrize(
    ("words", "line", "called"),
    [
        (
            ["done", "done"],
            "group 1, 2 ends so far, the last on shaft 2 in dent 2.",
            "White. End 3: shaft 3, dent 3.",
        ),
        (
            ["done", "done", "done", "done", "4"],
            "group 2, not begun, the last end on shaft 4 in dent 4.",
            "Block B. Blue. End 5: shaft 1, dent 5.",
        ),
    ],
)
def test_coming_back_tells_how_to_find_the_place_by_touch(
    words: list[str], line: str, called: str
) -> None:
    """After a break or a crash, the last end, where it sits and what the group holds."""
    weaver = Weaver(straight())
    weaver.say(*words)
    restored = State.from_json(weaver.state.to_json())
    greeting, present = lines(welcome_back(restored, weaver.stage))
    assert greeting == f"Threading, {line}"
    assert present == called


@pytest.mark.parametrize("name", ["wind", "beam", "thread", "tie-up", "first-picks"])
def test_whatever_help_offers_is_taken(name: StageName) -> None:
    """Before the first step, where nothing is counted, at a wrong count and in a reading too."""
    weaver = Weaver(stage_of(read_and_compute(PLANS / "first-try.toml")[1], name))
    for words in ("repeat", "done", "back", *["done"] * 8, "7", "mistake", "read back", "resume"):
        weaver.say(words)
        helped = weaver.say("help")[-1]
        offered = [each.split(":")[0] for each in helped.split(". ") if ":" in each]
        assert offered[-1] == "Choices"
        for form in offered:
            command = parse({"A number": "1"}.get(form, form))
            assert step(weaver.state, command, weaver.stage).is_accepted, (words, helped)
