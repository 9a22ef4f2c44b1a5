"""Errors found and mended as the weaver lives it: what she reports, and the lines she gets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from made_stages import Made, make_stage, straight
from test_guide_walk import QUIET, Weaver, lines

from companion.command import Command, Kind
from companion.guide import Mode, Options, State, start, step, welcome_back
from companion.guide.events import MendChosen, MendFinished, MendTaskDone
from companion.guide.state import UNDO_DEPTH
from companion.job import StageName, stage
from companion.loom.compute import read_and_compute
from companion.wording.record import recorded

if TYPE_CHECKING:
    from companion.guide import Event
    from companion.loom.dressing import Dressing

FIRST_TRY = Path(__file__).parent.parent / "plans" / "first-try.toml"
ENDS_ASKED = "Group 1. How many ends are in heddles?"
PUT_RIGHT = "Group 1 is put right."
WRONG = "End 4 is on shaft 3 like its neighbour, not on 4."
ANOTHER = "Say yes or no to that, or mend for another way."
REPAIR = "Tie a repair heddle and draw end {} through it."
MISSING = "End 6, shaft 2, is missing."
MENDABLE = "Say mend to put it right."
EXPLAINS_NOTHING = (
    "That is more than a slip or two: read back the group, and feel along as you hear it."
)
HELD = "Name the shafts you feel, or say mistake for more."


def first_try() -> Dressing:
    return read_and_compute(FIRST_TRY)[1]


def at_first_boundary(name: StageName, options: Options = QUIET) -> Weaver:
    """Return a weaver of the plan for learners, with all of group 1 confirmed."""
    dressing = first_try()
    walked = stage(dressing, name)
    weaver = Weaver(walked, options)
    weaver.say(*["done"] * walked.groups[0].last_step)
    return weaver


WRONG_SHAFT = [
    (
        "1 2 3 3 1 2 3 4",
        [
            "<trouble>",
            f"Most likely {WRONG[0].lower()}{WRONG[1:]} Say mend to put it right.",
        ],
    ),
    ("mend", ["<confirm>", f"{REPAIR.format(4)} {ANOTHER}"]),
    (
        "repeat",
        [
            (
                f"{WRONG} If it stays, the longest float goes from 2 to 3, 1 more pair weaves as "
                "one thread and 1 end weaves off the plan, in 20 crossings. "
                f"{REPAIR.format(4)} {ANOTHER}"
            ),
        ],
    ),
    ("yes", ["<confirm>", "Find end 4: it is on shaft 3. Pull it out."]),
    ("done", ["<confirm>", "Tie a repair heddle on shaft 4 at that spot."]),
    ("count 8", ["<refuse>", "Finish the mend first, step by step."]),
    ("done", ["<confirm>", "Draw end 4 through the repair heddle, on shaft 4."]),
    ("back", ["<confirm>", "Tie a repair heddle on shaft 4 at that spot."]),
    ("done", ["<confirm>", "Draw end 4 through the repair heddle, on shaft 4."]),
    ("done", ["<confirm>", "Put end 4 into dent 4."]),
    (
        "undo",
        [
            "<confirm>",
            "The last change is undone.",
            "Draw end 4 through the repair heddle, on shaft 4.",
        ],
    ),
    ("done", ["<confirm>", "Put end 4 into dent 4."]),
    (
        "done",
        [
            "<confirm>",
            PUT_RIGHT,
            ENDS_ASKED,
        ],
    ),
    (
        "8",
        [
            "<confirm>",
            "8, right.",
            "Group 2.",
            "Unit 3. End 9: shaft 1, dent 9.",
        ],
    ),
]

MISSED = [
    ("7", ["<trouble>", "7, but 8 are planned. Count once more."]),
    (
        "7",
        ["<trouble>", f"7, but 8 are planned. Most likely an end is missing. {HELD}"],
    ),
    (
        "mistake",
        [
            "<trouble>",
            (
                "Most likely an end is missing, or a step was confirmed twice. Name the shafts "
                "you feel, or say mend or accept."
            ),
        ],
    ),
    ("where am i", ["Group 1 of 5.", f"7, but 8 are planned. {HELD}"]),
    (
        "spare on shaft 2",
        [
            "<confirm>",
            "Shaft 2, 1 heddle over.",
            (
                "Most likely an end of shaft 2 is missing. It may be at end 2 or 6. "
                "Name the shafts you feel."
            ),
        ],
    ),
    (
        "1 2 3 4 1 3 4",
        [
            "<trouble>",
            "Most likely end 6, shaft 2, is missing. Say mend to put it right.",
        ],
    ),
    ("repeat", [f"7, but 8 are planned. Most likely end 6, shaft 2, is missing. {MENDABLE}"]),
    ("mend", ["<confirm>", f"{REPAIR.format(6)} {ANOTHER}"]),
    ("where am i", ["Group 1 of 5.", f"{MISSING} {REPAIR.format(6)} {ANOTHER}"]),
    (
        "help",
        ["Yes: do it. No: leave it. Mend: another way. Repeat: say it again. Choices: the rest."],
    ),
    ("repeat", [f"{MISSING} {REPAIR.format(6)} {ANOTHER}"]),
    ("yes", ["<confirm>", "Find end 6, left out after end 5."]),
    ("done", ["<confirm>", "Tie a repair heddle on shaft 2 at that spot."]),
    ("done", ["<confirm>", "Draw end 6 through the repair heddle, on shaft 2."]),
    (
        "done",
        [
            "<confirm>",
            PUT_RIGHT,
            ENDS_ASKED,
        ],
    ),
]

CROSSED = [
    (
        "1 3 2 4 1 2 3 4",
        [
            "<trouble>",
            "Most likely ends 2 and 3 are crossed. Say mend to put it right.",
        ],
    ),
    (
        "mend",
        [
            "<confirm>",
            (
                "Pull ends 2 and 3 out and draw them in the right order: 2 ends. Say yes or no to "
                "that, or mend for another way."
            ),
        ],
    ),
    (
        "yes",
        [
            "<confirm>",
            "Pull ends 2 and 3 out of the heddles, and of the reed if they are in it.",
        ],
    ),
    ("done", ["<confirm>", "Draw end 2 through its heddle on shaft 2."]),
    ("done", ["<confirm>", "Draw end 3 through its heddle on shaft 3."]),
    (
        "done",
        [
            "<confirm>",
            PUT_RIGHT,
            ENDS_ASKED,
        ],
    ),
]

DOUBLED_DENT = [
    (
        "1 1 2 1 1 1 1 1 1",
        [
            "<trouble>",
            "Most likely the ends of dents 3 and 4 are in one dent. Say mend to put it right.",
        ],
    ),
    (
        "mend",
        [
            "<confirm>",
            (
                "Pull ends 1 to 3 out of the reed and sley them again: 3 ends. Say yes or no to "
                "that, or mend for another way."
            ),
        ],
    ),
    (
        "yes",
        [
            "<confirm>",
            "Pull ends 1 to 3 out of the reed, so that you can move them by one dent.",
        ],
    ),
    (
        "done",
        ["<confirm>", "Put end 3 into the next dent, towards the edge you began at."],
    ),
    (
        "done",
        ["<confirm>", "Put end 2 into the next dent, towards the edge you began at."],
    ),
    (
        "done",
        ["<confirm>", "Put end 1 into the next dent, towards the edge you began at."],
    ),
    (
        "done",
        [
            "<confirm>",
            PUT_RIGHT,
            ("Group 1. How many dents hold ends?"),
        ],
    ),
]


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("thread-and-sley", WRONG_SHAFT),
        ("thread", MISSED),
        ("thread", CROSSED),
        ("sley", DOUBLED_DENT),
    ],
    ids=["a wrong shaft", "a missed end", "a crossed pair", "a doubled dent"],
)
def test_an_error_is_found_and_mended(name: StageName, table: list[tuple[str, list[str]]]) -> None:
    """Word by word: a report, what it most likely means, and the mend step by step."""
    weaver = at_first_boundary(name)
    heard = [
        (words, [line.partition(" (Fits")[0] for line in weaver.say(words)]) for words, _ in table
    ]
    assert heard == table


@pytest.mark.parametrize("table", [WRONG_SHAFT, MISSED, CROSSED])
def test_a_crash_in_a_mend_resumes_in_it(table: list[tuple[str, list[str]]]) -> None:
    """Restored from the disk after every single command, the mend goes on as if nothing were."""
    plain = at_first_boundary("thread")
    crashing = at_first_boundary("thread")
    for words, _ in table:
        crashing.state = State.from_json(crashing.state.to_json())
        assert crashing.say(words) == plain.say(words)
    assert crashing.state == plain.state
    assert len(plain.state.mended) == 1


def test_where_am_i_in_a_mend_ends_on_what_is_to_be_done_now() -> None:
    """Of the step after it only the name is told, and nothing of what is left in all."""
    weaver = at_first_boundary("thread")
    now = weaver.say("1 3 2 4 1 2 3 4", "mend", "yes")[-1]
    place, last = weaver.say("where am i")
    assert place == "You are mending. Then end 9. Group 1 of 5."
    assert last == now


def test_the_small_steps_of_a_mend_are_kept_as_long_as_undoing_leads_to_them() -> None:
    """Undone one by one the mend is walked backwards; long after it the record is small again."""
    weaver = at_first_boundary("thread")
    weaver.say("1 3 2 4 1 2 3 4", "mend", "yes")
    tasks = weaver.state.mends[0].tasks
    assert len(tasks) == 3
    weaver.say("done", "done", "done", "undo", "undo", "done", "done")
    assert len(weaver.state.mended) == 1
    weaver.say("8", *["done"] * 7)
    assert weaver.state.mends[0].tasks == tasks
    weaver.say(*["back", "done"] * UNDO_DEPTH)
    assert len(weaver.state.mends[0].tasks) == 0
    assert len(weaver.state.mended) == 1


def test_threading_anew_goes_back_to_the_end_and_is_on_record() -> None:
    """Where only the number is known, the group is offered anew from its first end."""
    weaver = at_first_boundary("thread")
    assert weaver.say("7", "mend")[1].startswith(
        "Pull end 1 and all after it, and thread them again: 8 ends."
    )
    assert weaver.say("yes") == [
        "<confirm>",
        "Back 8 steps.",
        "Straight draw. End 1: shaft 1.",
    ]
    assert weaver.say("undo")[-1].startswith("7, but 8 are planned. Count once more.")
    assert weaver.say("mend", "yes", *["done"] * 7)[-1] == "End 8: shaft 4."
    assert weaver.state.mended == ()
    assert weaver.say("done") == [
        "<boundary>",
        PUT_RIGHT,
        weaver.heard[-1],
    ]
    assert weaver.state.mode is Mode.COUNTING
    assert len(weaver.state.mended) == 1
    weaver.say("undo")
    assert weaver.state.mended == ()
    weaver.say("done", "8")
    assert len(weaver.state.mended) == 1


def test_the_next_way_is_offered_when_asked_once_more() -> None:
    """The same word again offers the other way, and in the end the first one."""
    weaver = at_first_boundary("thread")
    first = weaver.say("1 3 2 4 1 2 3 4", "mend")
    second = weaver.say("mend")
    assert "Pull end 2 and all after it, and thread them again: 7 ends." in second[1]
    assert weaver.say("mend") == first
    assert weaver.say("no")[1] == "Nothing changed."
    assert weaver.state.mending is None


@pytest.mark.parametrize(("question", "times"), [("mend", 2), ("accept", 2), ("accept", 1)])
def test_after_no_only_what_to_do_now_is_said(question: str, times: int) -> None:
    """What a wrong count means was told just before; to hear it again there is repeat."""
    weaver = at_first_boundary("thread")
    weaver.say(*["7"] * times, question)
    ways = "Name the shafts you feel, or say mend or accept."
    told = ways if times > 1 else "Count once more."
    assert weaver.say("no") == ["<confirm>", "Nothing changed.", told]
    (again,) = weaver.say("repeat")
    assert again.startswith("7, but 8 are planned.")
    assert again.endswith(HELD if times > 1 else told)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["mend"], "Nothing is known to be wrong; count, or name what you feel."),
        (["spare on shaft 9"], "Shaft 9 is not on this loom; the last is shaft 4."),
    ],
)
def test_what_cannot_be_mended_is_said(words: list[str], line: str) -> None:
    """Without anything wrong, or with a shaft there is not, the answer says why."""
    weaver = at_first_boundary("thread")
    before = weaver.state
    assert weaver.say(*words)[:2] == ["<refuse>", weaver.heard[1]]
    assert weaver.heard[1].startswith(line)
    assert weaver.state == before


@pytest.mark.parametrize(
    ("name", "felt"), [("thread", "the shafts you feel"), ("sley", "the ends")]
)
def test_a_count_far_from_the_plan_asks_for_touch(name: StageName, felt: str) -> None:
    """Nothing known explains 1 in 8; something is wrong all the same, and touch tells where."""
    weaver = at_first_boundary(name)
    assert f" Name {felt}" in weaver.say("1", "1")[1]
    assert weaver.say("mend")[1].startswith(f"First name {felt}")
    assert weaver.heard[1].endswith(": they tell the place.")


def test_who_has_named_what_is_felt_is_not_told_to_name_it_first() -> None:
    """Where no slip or two explain it, mend says so: at a count, held and in a group looked at."""
    for words in ([], ["5", "5"], ["8", "look at group 1"]):
        weaver = at_first_boundary("thread")
        assert weaver.say(*words, "4 4 1 4 2 4 4 2")[-1].endswith(EXPLAINS_NOTHING)
        assert weaver.say("mend") == ["<refuse>", EXPLAINS_NOTHING]


@pytest.mark.parametrize(
    ("name", "words", "line"),
    [
        ("tie-on", ["done"], "I cannot tell at which end. Say look at a group, and name what"),
        (
            "tie-on",
            ["done", "mistake", "5"],
            "Count once more first, or say accept to let it stand.",
        ),
        ("raddle", ["done"], "Nothing is known to be wrong;"),
    ],
)
def test_where_nothing_is_threaded_a_mend_is_of_the_threading_or_of_the_count(
    name: StageName, words: list[str], line: str
) -> None:
    """What is felt wrong later is looked at in its group; a wrong count is to be put right."""
    weaver = Weaver(stage(first_try(), name), QUIET)
    assert weaver.say(*words, "mend")[1].startswith(line)


def test_heddles_are_no_matter_of_the_reed() -> None:
    """A spare heddle told of while sleying is refused with its reason."""
    heard = at_first_boundary("sley").say("spare on shaft 1")
    assert heard[1].startswith("Heddles are told only while you thread.")


def test_a_report_is_taken_back_by_its_opposite() -> None:
    """One heddle over and one too few on the same shaft come to nothing."""
    weaver = at_first_boundary("thread")
    assert weaver.say("spare on shaft 2", "missing on shaft 2")[1:] == [
        "As many heddles are left as planned.",
        "Nothing else is known to be wrong here.",
    ]


def test_leaving_a_mend_at_its_first_step_leaves_no_record() -> None:
    """Going back from the first step is leaving the mend; the group waits as it did."""
    weaver = at_first_boundary("thread")
    before = weaver.say("1 3 2 4 1 2 3 4", "repeat")
    assert weaver.say("mend", "yes", "back")[1] == (
        "You left the mend unfinished; it is not on record."
    )
    assert weaver.say("repeat") == before
    assert weaver.state.mended == ()


def test_a_mend_in_the_middle_of_a_group_goes_on_with_the_count_so_far() -> None:
    """Reported while walking, an error is mended, counted so far, and the walk goes on."""
    weaver = Weaver(straight(groups=1, length=8, name="thread"))
    weaver.say("done", "done", "done", "done")
    assert weaver.say("1 2 4 3", "mend", "yes", "done", "done", "done")[-1] == (
        "Group 1 so far: how many ends are in heddles?"
    )
    assert weaver.say("4")[-1] == "Block A. White. End 5: shaft 1."


def test_without_a_plan_behind_it_nothing_is_claimed_of_the_cloth() -> None:
    """A stage of steps alone offers its mend without an effect, and asks for nothing left over."""
    weaver = Weaver(straight(groups=1))
    asked = weaver.say(*["done"] * 4, "1 2 4 3", "mend")[1]
    assert "If it stays" not in asked
    assert weaver.say("no", "1 2 3 4", "4")[0] == "<finish>"


def test_heddles_left_over_tell_of_a_wrong_shaft_in_the_end() -> None:
    """When all is threaded each shaft is asked for; what differs is recorded and explained."""
    weaver = at_first_boundary("thread")
    asked = weaver.say("8", *[*["done"] * 8, "8"] * 4)
    assert asked[-1] == "Shaft 1: how many heddles are left over? 40 are planned."
    assert weaver.say("repeat")[0] == (
        f"{asked[-1]} Another number means an end on a wrong shaft, or a heddle passed over."
    )
    assert weaver.say("40") == [
        "<confirm>",
        "Shaft 2: how many heddles are left over? 40 are planned.",
    ]
    assert weaver.say("41")[1] == "Heddles left over on shaft 2: 41 instead of 40."
    assert weaver.say("39", "done") == [
        "<finish>",
        "Most likely an end of shaft 2 is on shaft 3.",
        (
            "Threading is complete: 40 ends in 5 groups. Heddles left over not as planned: shafts "
            "2 and 3."
        ),
    ]
    assert "I cannot tell at which end. Say look at a group, and name what" in weaver.say("mend")[1]
    assert weaver.say("undo", "undo")[-1].startswith("Shaft 3: how many heddles")


def test_a_question_left_open_is_greeted_with_the_ends_in_the_group() -> None:
    """Gone on with at a question for heddles, the last group still holds its own eight ends."""
    weaver = at_first_boundary("thread")
    weaver.say("8", *[*["done"] * 8, "8"] * 4)
    greeting = lines(welcome_back(weaver.state, weaver.stage))
    assert "Threading, group 5, 8 ends so far, the last on shaft 4." in greeting[0]
    assert greeting[1].startswith("Shaft 1: how many heddles are left over?")


def test_dents_left_over_are_asked_for_after_sleying() -> None:
    """A dent fewer than planned at the end means one left empty on the way."""
    weaver = at_first_boundary("sley")
    asked = weaver.say("10", *[*["done"] * 10, "10"] * 3)
    assert asked[-1] == "How many dents are left empty after the last one used? 100 are planned."
    assert weaver.say("repeat")[0].endswith("means a dent left empty or filled twice.")
    heard = weaver.say("99")
    assert heard[1] == "Dents left over: 99 instead of 100."
    assert heard[2].startswith("Most likely a dent too many is left empty.")


@pytest.mark.parametrize("options", [Options(ask_left=False), Options(ask_counts=False)])
def test_what_is_left_over_need_not_be_asked(options: Options) -> None:
    """A weaver who set the question, or all counts, off is done with the last group."""
    dressing = first_try()
    walked = stage(dressing, "thread")
    state, _ = start(walked, options)
    while state.mode is not Mode.FINISHED:
        is_due = state.mode is Mode.COUNTING
        number = walked.groups[state.checked].expected if is_due else None
        command = Command(Kind.COUNT if is_due else Kind.DONE, number)
        state = step(state, command, walked).state
    assert state.left == ()


def test_an_empty_heddle_may_stay() -> None:
    """One heddle too few and everything else right is an empty heddle, which does little harm."""
    weaver = at_first_boundary("thread")
    weaver.say("1 2 3 4 1 2 3 3", "missing on shaft 2", "1 2 3 4 1 2 3 4", "missing on shaft 3")
    weaver.say("spare on shaft 3")
    assert weaver.say("mend", "yes")[-1] == (
        "Leave the empty heddle of shaft 2 as it hangs; it does little harm."
    )


def test_a_float_at_the_edge_moves_with_its_dents() -> None:
    """Where the first edge is nearer, a floating selvedge is moved as well."""
    dents = [Made(()), *[Made((1, 2))] * 6]
    weaver = Weaver(make_stage("sley", [("", dents)]))
    weaver.say(*["done"] * 7, "1 4 2 2 2 2")
    assert weaver.say("mend")[1].startswith("Pull ends 1 and 2 out of the reed")
    weaver.say("yes", "done", "done")
    assert weaver.heard[1] == (
        "Put the floating selvedge too into the next dent, towards the edge you began at."
    )


def test_the_record_tells_a_mend_when_it_is_made() -> None:
    """It is on record as chosen at the yes, and as made with its last small step."""
    weaver = at_first_boundary("thread")
    weaver.say("1 3 2 4 1 2 3 4", "mend")
    weaver.say("yes")
    (chosen,) = weaver.events
    assert isinstance(chosen, MendChosen)
    weaver.say("done")
    assert list(weaver.events) == [MendTaskDone(1)]
    weaver.say("done", "done")
    assert weaver.events == (MendTaskDone(3), MendFinished(chosen.account))
    assert weaver.state.mended == (chosen.account,)


@pytest.mark.parametrize(
    ("name", "table", "told"),
    [
        (
            "thread-and-sley",
            WRONG_SHAFT,
            f"reported felt 1, 2, 3, 3, 1, 2, 3, 4. {WRONG} {REPAIR.format(4)}",
        ),
        (
            "thread",
            MISSED,
            (
                "reported 7 instead of 8; shaft 2, 1 heddle over; felt 1, 2, 3, 4, 1, 3, 4. End 6, "
                f"shaft 2, is missing. {REPAIR.format(6)}"
            ),
        ),
        (
            "thread",
            CROSSED,
            (
                "reported felt 1, 3, 2, 4, 1, 2, 3, 4. Ends 2 and 3 are crossed. "
                "Pull ends 2 and 3 out and draw them in the right order: 2 ends."
            ),
        ),
    ],
)
def test_the_log_tells_what_a_mend_was(
    name: StageName, table: list[tuple[str, list[str]]], told: str
) -> None:
    """What was reported, what it was taken for and what was done stand in one line."""
    weaver = at_first_boundary(name)
    came: list[Event] = []
    for words, _ in table:
        weaver.say(words)
        came += weaver.events
    (made,) = (event for event in came if isinstance(event, MendFinished))
    assert recorded(made) == f"Group 1 put right, {told}"
