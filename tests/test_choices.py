"""Choices read aloud one at a time: whatever can be given can be given with one switch."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.command import Command, Kind
from companion.guide.choices import AT_ONCE, ROUNDS, Choices, CommandChoice, moved_on, opened, taken

KINDS = (Kind.DONE, Kind.BACK, Kind.COUNT, Kind.REWIND, Kind.HELP)


def chosen(choices: Choices, *moves: int) -> Choices | Command:
    """Return what comes of moving on so often, and taking, once for each of `moves`."""
    result: Choices | Command = choices
    for times in moves:
        assert isinstance(result, Choices)
        for _ in range(times):
            following = moved_on(result)
            assert following is not None
            result = following
        result = taken(result)
    return result


def at_of(choices: Choices, wanted: CommandChoice) -> int:
    return choices.items.index(wanted)


def test_what_fits_is_read_and_the_next_press_takes_it() -> None:
    """The likeliest first; a command without a number is given at once."""
    choices = opened(KINDS, {Kind.COUNT: 24, Kind.REWIND: 300}, shafts=4)
    assert [item.kind for item in choices.items][:3] == [Kind.DONE, Kind.BACK, Kind.COUNT]
    assert chosen(choices, 1) == Command(Kind.BACK)


def test_a_long_row_is_read_a_few_at_a_time() -> None:
    """Six and the way to more; each command stands in one of the rows, none is read twice."""
    kinds = tuple(kind for kind in Kind if kind is not Kind.MORE_CHOICES)
    choices, seen, rows = opened(kinds, dict.fromkeys(kinds, 5), shafts=0), list[Kind](), 0
    while choices.rest:
        seen += [item.kind for item in choices.items[:-1]]
        following = chosen(choices, AT_ONCE)
        assert isinstance(following, Choices)
        choices, rows = following, rows + 1
        assert len(choices.items) <= AT_ONCE + 1
    assert [*seen, *(item.kind for item in choices.items)] == list(kinds)
    assert rows == (len(kinds) - 2) // AT_ONCE


def test_they_close_by_themselves() -> None:
    """After two rounds nothing is chosen, so that a walk is never lost in them."""
    choices: Choices | None = opened((Kind.DONE, Kind.BACK), {}, shafts=0)
    said = 0
    while choices is not None:
        said, choices = said + 1, moved_on(choices)
    assert said == 2 * ROUNDS


@pytest.mark.parametrize("number", range(19))
def test_a_small_number_is_counted_up(number: int) -> None:
    """One after the other from 0, and the press takes the one just said."""
    choices = opened(KINDS, {Kind.COUNT: 18}, shafts=0)
    at = at_of(choices, CommandChoice(Kind.COUNT, 18))
    assert chosen(choices, at, number) == Command(Kind.COUNT, number, numbers=(number,))


@given(st.integers(21, 2000), st.data())
def test_a_large_number_is_given_digit_by_digit(limit: int, data: st.DataObject) -> None:
    """From the highest digit, and none that would go beyond the last end is offered."""
    number = data.draw(st.integers(0, limit))
    choices = opened((Kind.REWIND,), {Kind.REWIND: limit}, shafts=0)
    result: Choices | Command = taken(choices)
    while isinstance(result, Choices):
        digit = (number - result.value) // result.place
        result = chosen(result, digit)
    assert result == Command(Kind.REWIND, number)


def test_the_shafts_felt_are_given_one_by_one() -> None:
    """Each counted up from 1; "that is all" comes after the last shaft, once there is one."""
    choices = opened((Kind.COUNT,), {Kind.COUNT: 8}, shafts=4)
    row = taken(moved_on(choices) or choices)
    assert isinstance(row, Choices)
    assert row.numbers == (1, 2, 3, 4)
    assert chosen(row, 0, 1, 3, 2, 4) == Command(Kind.COUNT, numbers=(1, 2, 4, 3))


def test_what_needs_a_number_and_has_none_to_give_is_left_out() -> None:
    """Where no end can be gone to, going to one is not offered."""
    assert opened((Kind.REWIND, Kind.HELP), {}, shafts=0).items == (CommandChoice(Kind.HELP),)
