"""What a WIF file is refused for, all of it told at once, with the line and a mend."""

from __future__ import annotations

import pytest

from companion.base.errors import PlanError, Problem
from companion.plan.fault import MOST_TOLD
from companion.plan.values import MAX_ENDS
from companion.plan.wif import sections as wif_sections
from companion.plan.wif.reader import read_wif
from companion.plan.wif.sections import decode

ONE_SHAFT = "Give the thread one shaft; one end goes through one heddle here"


def problems(text: str | bytes) -> tuple[Problem, ...]:
    data = text if isinstance(text, bytes) else text.encode("utf-8")
    with pytest.raises(PlanError) as caught:
        read_wif(
            decode(data, "scarf.wif"), name="scarf.wif", first_end="right", draft_first_end="right"
        )
    assert caught.value.source == "scarf.wif"
    return caught.value.problems


def test_everything_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    """One reading finds every fault, each with its line and section."""
    text = (
        "[WIF]\n[WARP]\nThreads=9\n[THREADING]\n1=1,2\n2=0\n3=-1\n5=\nx=3\n7=99\n8=1.5\n"
        "[TIEUP]\n1=1,a\n[TREADLING]\n0=1\n[LIFTPLAN]\n1=65"
    )
    assert [problem.place for problem in problems(text)] == [
        "line 3, WARP threads",
        "line 4, THREADING",
        "line 4, THREADING",
        "line 5, THREADING 1",
        "line 6, THREADING 2",
        "line 7, THREADING 3",
        "line 8, THREADING 5",
        "line 9, THREADING x",
        "line 10, THREADING 7",
        "line 11, THREADING 8",
        "line 13, TIEUP 1",
        "line 15, TREADLING 0",
        "line 17, LIFTPLAN 1",
    ]


@pytest.mark.parametrize(
    ("threading", "expected"),
    [
        (
            "1=1\n2=2,3",
            Problem(
                "line 4, THREADING 2", "expected one shaft for thread 2, found 2, 3", ONE_SHAFT
            ),
        ),
        (
            "1=1\n2=0",
            Problem(
                "line 4, THREADING 2", "expected one shaft for thread 2, found none", ONE_SHAFT
            ),
        ),
        (
            "1=1\n2=-3",
            Problem(
                "line 4, THREADING 2",
                'expected a shaft number from 1 to 64, found "-3"',
                'Write the line as "thread=shaft" or remove it',
            ),
        ),
        (
            "1=1\n3=1\n4=1\n8=2",
            Problem(
                "line 2, THREADING",
                "expected a shaft for every thread, found none for thread 2",
                "Add a line for each of them",
            ),
        ),
        (
            "1=1\nstraight draw",
            Problem(
                "line 4, THREADING straight draw",
                f'expected "thread=shaft" with thread 1 to {MAX_ENDS}, found "straight draw"',
                'Write the line as "thread=shaft" or remove it',
            ),
        ),
        (
            "1=1\n=4",
            Problem(
                "line 4, THREADING",
                f'expected "thread=shaft" with thread 1 to {MAX_ENDS}, found nothing',
                'Write the line as "thread=shaft" or remove it',
            ),
        ),
        (
            "1=1\n99999999999999999999=1",
            Problem(
                "line 4, THREADING 99999999999999999999",
                f'expected "thread=shaft" with thread 1 to {MAX_ENDS}, '
                'found "99999999999999999999"',
                'Write the line as "thread=shaft" or remove it',
            ),
        ),
    ],
)
def test_threading_that_leaves_an_end_without_its_place(threading: str, expected: Problem) -> None:
    """Each kind of faulty threading line is told in one sentence with what to do."""
    assert str(problems(f"[WIF]\n[THREADING]\n{threading}")[0]) == str(expected)


def test_threads_left_out_are_told_in_runs() -> None:
    """A hundred missing threads in a row are one problem, not a hundred."""
    found = problems("[WIF]\n[THREADING]\n1=1\n3=1\n104=2\n")
    assert [problem.fault for problem in found] == [
        "expected a shaft for every thread, found none for thread 2",
        "expected a shaft for every thread, found none for threads 4 to 103",
    ]


def test_warp_wider_than_its_threading() -> None:
    """Threads that the warp has and the threading does not are never guessed."""
    assert problems("[WIF]\n[WARP]\nThreads=4\n[THREADING]\n1=1\n2=2\n") == (
        Problem(
            "line 3, WARP threads",
            "expected 4 threads in the threading, found 2",
            "Thread the rest, or write Threads=2 here",
            3,
        ),
    )


@pytest.mark.parametrize("text", ["[WIF]\n", "[WIF]\n[THREADING]\n;1=1\n", "[WIF]\n[THREADING]"])
def test_no_threading(text: str) -> None:
    """A file with everything but a threading says so."""
    (problem,) = problems(text)
    assert problem.fault == "expected a threading, found none"


def test_profile_draft() -> None:
    """A profile draft counts blocks, not ends, and must never be read out as a threading."""
    (problem,) = problems("[WIF]\n[WEAVING]\nProfile=Yes\n[THREADING]\n1=1\n2=2,3\n")
    assert problem.place == "line 3, WEAVING profile"
    assert "profile draft" in problem.fault


def test_warp_beyond_all_measure() -> None:
    """A slip of the finger in the number of threads is caught before it is counted out."""
    found = problems("[WIF]\n[WARP]\nThreads=100000000\n[THREADING]\n1=1\n")
    assert found[0].fault == f"expected at most {MAX_ENDS} threads, found 100000000"


def test_text_of_another_kind() -> None:
    """A plan, a letter or an empty file is not a WIF."""
    for text in ("", "title = 'Scarf'\n[warp]\nends = 300\n", "Dear weaver", "\x1a[WIF]"):
        (problem,) = problems(text)
        assert problem.fault.startswith("expected a WIF file")


@pytest.mark.parametrize("data", [bytes(200), b"[WIF]\0\0", b"\xff\xfe\0", b"\x89PNG\r\n\x1a\n\0"])
def test_binary_file(data: bytes) -> None:
    """A picture or a program is refused without a traceback."""
    assert len(problems(data)) == 1


def test_file_beyond_all_measure() -> None:
    """A film given by mistake is refused before it is taken apart."""
    (problem,) = problems(bytes(wif_sections.MAX_BYTES + 1))
    assert problem.fault.startswith("expected at most 64 megabytes")


def test_thousands_of_problems_are_cut_short() -> None:
    """The first problems are told, and how many more there are."""
    found = problems("[WIF]\n[THREADING]\n" + "".join(f"{end}=1\n" for end in range(2, 9_000, 2)))
    assert len(found) == MOST_TOLD + 1
    assert found[-1].fault == f"expected no more problems, and there are {4_499 - 50} more"


def test_long_rubbish_is_not_repeated_whole() -> None:
    """A line of rubbish is quoted in part, with nothing a terminal would act on."""
    (first, *_) = problems("[WIF]\n[THREADING]\n1=" + "\x1b[2J" + "x" * 5_000)
    assert len(str(first)) < 300
    assert str(first).isprintable()
