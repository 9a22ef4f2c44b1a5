"""The notation for shafts and treadles in order.

The notation is our own, so its oracle is what its sentences say: the examples in the module's
docstring, written out by hand.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.plan.threading.notation import NotationError, read_numbers, read_picks, write_numbers
from companion.plan.values import MAX_ENDS


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1-2-3-4", (1, 2, 3, 4)),
        ("1-4", (1, 4)),
        ("1, 4", (1, 4)),
        ("1 4", (1, 4)),
        (" 1 -  4 ", (1, 4)),
        ("1 to 4", (1, 2, 3, 4)),
        ("4 to 1", (4, 3, 2, 1)),
        ("1 to 4, 3 to 2", (1, 2, 3, 4, 3, 2)),
        ("1 to 4 to 2", (1, 2, 3, 4, 3, 2)),
        ("1-4 TO 2", (1, 4, 3, 2)),
        ("3 to 3", (3,)),
        ("1-2-3-4,\n1-2-3-4", (1, 2, 3, 4, 1, 2, 3, 4)),
        ("1\u20132\u22123", (1, 2, 3)),
        ("12", (12,)),
        ("007", (7,)),
    ],
)
def test_numbers_are_read_as_the_notation_says(text: str, numbers: tuple[int, ...]) -> None:
    """Separators separate, "to" counts through, and a typographer's dash is a dash."""
    assert read_numbers(text) == numbers


@pytest.mark.parametrize(
    ("text", "picks"),
    [
        ("1-2", ((1,), (2,))),
        ("1+3, 2+4", ((1, 3), (2, 4))),
        ("3 + 1", ((1, 3),)),
        ("1+2+3", ((1, 2, 3),)),
        ("1 to 3, 2", ((1,), (2,), (3,), (2,))),
    ],
)
def test_picks_press_several_treadles_with_a_plus(
    text: str, picks: tuple[tuple[int, ...], ...]
) -> None:
    """A plus joins treadles of one pick, in rising order; all else is as for shafts."""
    assert read_picks(text) == picks


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "expected numbers, not an empty text"),
        ("  ", "expected numbers, not an empty text"),
        ("1-x-3", 'expected a number, not "x" at character 3'),
        ("1to4", 'expected a number, not "1to4" at character 1'),
        ("1-2-", 'expected a number after "-" at character 4'),
        ("-1", 'expected a number before "-" at character 1'),
        ("1,,2", 'expected a number before "," at character 3'),
        ("1 to", 'expected a number after "to" at character 3'),
        ("to 4", 'expected a number before "to" at character 1'),
        ("1 to to 4", 'expected a number before "to" at character 6'),
        ("0-1", 'expected a number from 1 to 1,000,000, not "0" at character 1'),
        ("1.5", 'expected a number, not "1.5" at character 1'),
        ("1+2", 'expected one number at a time, not "+" before character 3'),
        ("\u0661", 'expected a number, not "\u0661" at character 1'),
        ("9" * 5000, 'expected a number, not "' + "9" * 37 + '..." at character 1'),
    ],
)
def test_a_bad_text_is_refused_by_its_bad_part_and_position(text: str, fault: str) -> None:
    """Every refusal names the part and the character, and shows how to write it."""
    with pytest.raises(NotationError) as caught:
        read_numbers(text)
    assert caught.value.fault == fault
    assert '"1-2-3-4"' in caught.value.mend


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("1+1", "expected different treadles in one pick, not treadle 1 twice at character 3"),
        (
            "1+3 to 5",
            'expected one treadle before "to 5" at character 8, not 2 pressed together',
        ),
        ("1+", 'expected a number after "+" at character 2'),
    ],
)
def test_a_bad_pick_is_refused_by_its_position(text: str, fault: str) -> None:
    """What a plus cannot mean is refused."""
    with pytest.raises(NotationError) as caught:
        read_picks(text)
    assert caught.value.fault == fault


def test_a_dent_may_hold_no_end_where_that_is_allowed() -> None:
    """Zero is a number only where the caller says so."""
    assert read_numbers("0-1-1", least=0) == (0, 1, 1)


def test_numbers_are_bounded_above_by_the_caller() -> None:
    """A shaft no loom has is refused with the bound named."""
    with pytest.raises(NotationError, match="from 1 to 64"):
        read_numbers("1 to 65", most=64)


def test_a_run_may_be_as_long_as_the_widest_warp_and_no_longer() -> None:
    """A slip such as "1 to 1000000 to 1" does not fill the memory."""
    assert len(read_numbers(f"1 to {MAX_ENDS}")) == MAX_ENDS
    with pytest.raises(NotationError, match="at most 1,000,000 numbers"):
        read_numbers(f"1 to {MAX_ENDS} to 1")
    with pytest.raises(NotationError, match="at most 1,000,000 numbers"):
        read_picks(f"1 to {MAX_ENDS} to 1")


@given(st.lists(st.integers(0, 99), min_size=1, max_size=60))
def test_what_is_written_reads_back_the_same(numbers: list[int]) -> None:
    """Writing and reading are each other's inverse."""
    assert read_numbers(write_numbers(numbers), least=0) == tuple(numbers)


@given(
    st.lists(st.integers(1, 64), min_size=1, max_size=40),
    st.sampled_from(["-", ",", " ", ", ", " - ", "\n", "\u2013"]),
)
def test_all_separators_mean_the_same(numbers: list[int], separator: str) -> None:
    """Python's own join, with any one separator, is read back."""
    assert read_numbers(separator.join(map(str, numbers))) == tuple(numbers)


@given(st.integers(1, 64), st.integers(1, 64))
def test_a_run_goes_by_ones_from_end_to_end(start: int, stop: int) -> None:
    """ "a to b" begins at a, ends at b and never turns."""
    run = read_numbers(f"{start} to {stop}")
    assert (run[0], run[-1], len(run)) == (start, stop, abs(stop - start) + 1)
    assert len({after - before for before, after in pairwise(run)}) <= 1


@given(
    st.lists(
        st.lists(st.integers(1, 16), min_size=1, max_size=4, unique=True), min_size=1, max_size=20
    )
)
def test_picks_written_with_plus_read_back(picks: list[list[int]]) -> None:
    """Any treadles may be pressed together, in any order of writing."""
    text = ", ".join("+".join(map(str, pick)) for pick in picks)
    assert read_picks(text) == tuple(tuple(sorted(pick)) for pick in picks)


@given(st.text(max_size=40) | st.text(alphabet="0123456789 -,+to", max_size=30))
def test_no_text_brings_anything_but_numbers_or_one_line_of_advice(text: str) -> None:
    """Whatever is written, the answer is numbers or a single printable line."""
    for read in (read_numbers, read_picks):
        try:
            answer = "-".join(map(str, read(text)))
        except NotationError as error:
            answer = str(error)
        assert answer
        assert answer.isprintable()
