"""The board's commands: one walk for boards and terminal, each press taken once, in its place."""

from __future__ import annotations

import threading
from itertools import islice
from typing import TYPE_CHECKING

import pytest
from board_door import FIRST_TRY, RunningBoard, wait_until, words
from front_door import run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def board(tmp_path: Path) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path) as running:
        yield running


def test_a_new_board_is_shown_the_present_step(board: RunningBoard) -> None:
    """What the page needs is all there: step, the one after, progress; nothing before the first."""
    place = board.place()
    assert words(place) == "End 1, Shaft 1, Dent 1"
    assert (place["before"], place["after"]) == ("", "End 2: shaft 2, dent 2.")
    assert (place["progress"]["confirmed"], place["progress"]["total"]) == (0, 40)
    assert place["edge"] == "right"


def test_the_sheets_with_their_charts_are_shown_too(board: RunningBoard) -> None:
    """Warp sheet, reed, heddles, groups and cloth, in a page that obeys the board's own rules."""
    board.place()
    status, page, _ = board.request("GET", "/sheets/")
    assert status == 200
    for name in ("Warp", "The reed", "The heddles", "Progress", "Cloth"):
        assert name in page
    assert "<style" not in page
    assert " style=" not in page
    assert 'href="/sheets.css"' in page
    assert "svg.chart" in board.request("GET", "/sheets.css")[1]


def test_a_press_confirms_a_step_for_the_terminal(board: RunningBoard) -> None:
    """A press on the board is heard in the terminal, and the board shows the step after."""
    assert board.give("done", board.place(), "press-0001") == "taken"
    board.wait_for("End 2: shaft 2, dent 2.")
    assert words(board.place()).startswith("End 2,")


def test_weaving_is_shown_and_taken_pick_by_pick(tmp_path: Path) -> None:
    """A hand on the page confirms picks, and the repeat is counted there too."""
    with RunningBoard(tmp_path, "--weave") as board:
        place = board.place()
        assert (place["stage"], words(place)) == ("weaving", "Pick 1: treadle 1.")
        assert place["after"] == "Pick 2: treadle 2."
        for number in range(24):
            board.give("done", board.place(), f"press-{number:04}")
        place = board.place()
        assert (place["mode"], words(place)) == ("counting", "How many picks are woven?")
        board.give("count 24", place, "count-0001")
        assert words(board.place()) == "Pick 25: treadle 1."


def test_the_record_names_the_board(tmp_path: Path) -> None:
    """The journal tells a press on the board from a line typed in the terminal."""
    with RunningBoard(tmp_path) as board:
        board.give("done", board.place(), "press-0001")
        board.type("done")
        board.wait_for("End 3")
        board.interrupt()
    record = run(tmp_path, "log").stdout
    assert 'step 1 of 40: "done", board' in record
    assert 'step 2 of 40: "done", line' in record


def test_a_command_sent_twice_advances_once(board: RunningBoard) -> None:
    """The same identity again gets the same answer and moves nothing (a lost answer, sent anew)."""
    place = board.place()
    answers = [board.give("done", place, "press-0001") for _ in range(3)]
    assert answers == ["taken"] * 3
    assert board.place()["progress"]["confirmed"] == 1


def test_two_sends_at_the_same_moment_advance_once(board: RunningBoard) -> None:
    """Also where both are on their way before either is answered."""
    place = board.place()
    answers: list[str] = []
    threads = [
        threading.Thread(target=lambda: answers.append(board.give("done", place, "press-0001")))
        for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert answers == ["taken"] * 8
    assert board.place()["progress"]["confirmed"] == 1


def test_a_press_for_a_past_step_is_not_taken(board: RunningBoard) -> None:
    """Of two boards that press for the same step, and of a terminal before them, one is taken."""
    place = board.place()
    board.type("done")
    board.wait_for("End 2: ")
    assert board.give("done", place, "press-0001") == "late"
    assert board.give("back", place, "press-0002") == "late"
    assert board.place()["progress"]["confirmed"] == 1


def test_a_press_before_the_answer_to_another_follows_that_alone(board: RunningBoard) -> None:
    """Given for the step before, it is taken where its own page led on, and nothing came between.

    What changes how much a press confirms leads to no step like the one before.
    """
    place, given = board.place(), board.give
    assert given("done", place, "press-0001") == "taken"
    assert given("done", place, "press-0002") == "late"
    assert given("done", place, "press-0003", after="press-0001") == "taken"
    board.type("done")
    board.wait_for("End 4: ")
    assert given("done", place, "press-0004", after="press-0003") == "late"
    place = board.place()
    assert given("4 at a time", place, "press-0005") == "taken"
    assert given("done", place, "press-0006", after="press-0005") == "late"
    assert board.place()["progress"]["confirmed"] == 3


@pytest.mark.parametrize("is_seen", [True, False])
def test_quick_presses_take_back_no_more_than_they_did(
    board: RunningBoard, *, is_seen: bool
) -> None:
    """The second of three came to a count and was not taken, which its page could not know yet.

    They do so too where the page has not seen the count, to which they alone led.
    """
    for _ in range(6):
        board.type("done")
    board.wait_for("End 7: ")
    place, given = board.place(), board.give
    assert given("done", place, "press-0001") == "taken"
    place = board.place()
    assert given("done", place, "press-0002") == "taken"
    assert given("done", place, "press-0003", after="press-0002") == "late"
    quick = ["press-0002", "press-0003"]
    shown = board.place() if is_seen else place
    assert given("choices", shown, "press-0004", quick=quick) == "taken"
    assert board.place()["progress"]["confirmed"] == 7
    assert given("choices", place, "press-0005", quick=quick) == "late"


def test_what_changes_no_place_is_taken_at_any_step(board: RunningBoard) -> None:
    """Hearing it again fits whatever step is present."""
    place = board.place()
    board.type("done")
    board.wait_for("End 2: ")
    assert board.give("repeat", place, "press-0001") == "taken"


def test_a_press_for_another_run_is_not_taken(tmp_path: Path) -> None:
    """After a crash and a restart, a press that is sent anew does not count for the new run."""
    with RunningBoard(tmp_path) as board:
        place = board.place()
        board.give("done", place, "press-0001")
    with RunningBoard(tmp_path) as board:
        assert board.place()["progress"]["confirmed"] == 1
        assert board.give("done", place, "press-0001") == "late"
        assert board.place()["progress"]["confirmed"] == 1


def test_a_count_and_a_question_are_shown_and_answered(board: RunningBoard) -> None:
    """At a boundary a count is asked for; a wrong one is held; letting it stand is asked about."""
    for number in range(8):
        board.give("done", board.place(), f"press-{number:04}")
    place = board.place()
    assert (place["mode"], words(place)) == ("counting", "How many ends are in heddles?")
    board.give("count 7", place, "count-0001")
    place = board.place()
    assert (place["mode"], words(place)) == ("held", "7 ends, 8 planned")
    assert place["detail"] == "Count once more."
    assert place["told"] == "7, but 8 are planned. Count once more."
    board.give("accept", place, "accept-0001")
    place = board.place()
    assert (words(place), list(place["keys"])[:2]) == ("Let 7 stand?", ["yes", "no"])
    board.give("yes", place, "yes-00001")
    assert words(board.place()).startswith("End 9,")


def test_stopping_from_a_board_is_asked_about(board: RunningBoard) -> None:
    """A slip of the finger does not end the sitting; yes does, and the place is kept."""
    board.give("stop", board.place(), "press-0001")
    place = board.place()
    assert (words(place), list(place["keys"])[:2]) == ("Stop here?", ["yes", "no"])
    assert board.give("yes", place, "press-0002") == "ended"
    assert board.process.wait(20) == 0
    assert any("Your place is kept" in line for line in board.printed)


def test_a_board_that_comes_back_is_told_what_it_missed(board: RunningBoard) -> None:
    """Naming the last event seen brings exactly those after it: what is heard comes first."""
    last = next(board.events())[1]["id"]
    board.type("done")
    board.wait_for("End 2: ")
    missed = board.events(last)
    told = list(islice((each for each in missed if each[0] != "ahead"), 3))
    assert [kind for kind, _ in told] == ["sound", "line", "place"]
    assert told[0][1]["items"][-1]["text"] == "End two: shaft two, dent two."
    assert told[1][1]["text"] == "End 2: shaft 2, dent 2."
    assert words(told[2][1])[:5] == "End 2"


@pytest.mark.parametrize("last", ["gone.1", "nonsense", "x.y", "\u00b2.\u00b2", "...", "0"])
def test_a_board_that_knows_another_run_gets_the_whole_picture(
    board: RunningBoard, last: str
) -> None:
    """An event that is not known here, or is no event at all, is answered with all there is."""
    kind, whole = next(board.events(last))
    assert kind == "whole"
    assert words(whole["place"]) == "End 1, Shaft 1, Dent 1"
    assert whole["lines"][-1]["text"].endswith("End 1: shaft 1, dent 1.")


def test_boards_are_told_of_the_end(board: RunningBoard) -> None:
    """When the walk ends every stream says so and closes, and the terminal ends at once."""
    events = board.events()
    next(events)
    board.type("stop")
    kinds = [kind for kind, _ in events]
    assert kinds[-1] == "end"
    assert board.process.wait(10) == 0


def test_the_board_speaks_english_whatever_the_ear_hears(tmp_path: Path) -> None:
    """Its buttons work where spoken commands are in another language."""
    with RunningBoard(tmp_path, "--language", "de") as board:
        assert board.give("done", board.place(), "press-0001") == "taken"
        board.type("fertig")
        board.wait_for("End 3: ")


def test_ending_input_leaves_the_board_to_go_on(board: RunningBoard) -> None:
    """Without a terminal, as from a pipe that has ended, the walk goes on by the board alone."""
    assert board.process.stdin is not None
    board.process.stdin.close()
    board.process.stdin = None
    assert board.give("done", board.place(), "press-0001") == "taken"
    wait_until(lambda: board.place()["progress"]["confirmed"] == 1)


def test_interrupting_keeps_the_place(tmp_path: Path) -> None:
    """Ctrl-C ends terminal and boards in good order, and `board` alone goes on from there."""
    with RunningBoard(tmp_path) as board:
        board.give("done", board.place(), "press-0001")
        assert "Your place is kept in first-try-a-1" in board.interrupt()
    with RunningBoard(tmp_path, what="first-try") as board:
        assert board.place()["progress"]["confirmed"] == 1


def test_a_port_that_is_taken_is_told_in_one_line(tmp_path: Path) -> None:
    """A second board on the same port is refused with what to do, and no traceback."""
    with RunningBoard(tmp_path) as board:
        other = run(tmp_path / "other", "board", FIRST_TRY, "--text", "--port", str(board.port))
    assert other.returncode == 2
    assert "choose another port with --port" in other.stderr
    assert other.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Begin one: companion thread PLAN"),
        (("nowhere.toml",), "expected the file"),
        (("nothing-of-the-kind",), "nothing-of-the-kind"),
        (("--new",), "Expected a plan with --new"),
    ],
)
def test_nothing_to_walk_is_told(tmp_path: Path, arguments: tuple[str, ...], told: str) -> None:
    """Without a plan or session of that name the board says what to do."""
    ended = run(tmp_path, "board", *arguments, "--text", "--port", "0")
    assert ended.returncode == 2
    assert told in ended.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--network", "--address", "8.8.8.8"), "not for the open internet"),
        (("--network", "--address", "0.0.0.0"), "not for the open internet"),  # noqa: S104 - refused
        (("--network", "--address", "loom"), "Expected an address such as"),
        (("--address", "192.168.1.20"), "Expected --network with --address"),
    ],
)
def test_the_board_is_never_open_to_the_world(
    tmp_path: Path, arguments: tuple[str, ...], told: str
) -> None:
    """An address that is not a studio network's is refused in one line."""
    ended = run(tmp_path, "board", FIRST_TRY, "--text", "--port", "0", *arguments)
    assert (ended.returncode, ended.stderr.count("\n")) == (2, 1)
    assert told in ended.stderr
