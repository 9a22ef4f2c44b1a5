"""The saved state of a walk: exact, small, and refused when it is not what it should be."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stages import Made, make_stage, straight

from companion.base.errors import JournalError
from companion.command import Command, Kind
from companion.diagnosis.mends import Mend
from companion.diagnosis.slips import Diagnosis
from companion.guide import Mode, Options, State, check_fits, start, step, welcome_back
from companion.guide.events import MendAccount
from companion.guide.state import REASON_LENGTH, UNDO_DEPTH, ChosenMend, Mending, Work
from companion.guide.terms import Do, Task

STAGE = straight()
MEND = ChosenMend(
    MendAccount(1, 4, 3, 4, (), (), Diagnosis(()), Mend((), 0, 0, 1, 1)), (Task(Do.TIE, 1, 1, 1),)
)


def _walk(state: State, *commands: Command) -> State:
    for command in commands:
        state = step(state, command, STAGE).state
    return state


def _saved() -> dict[str, Any]:
    state, _ = start(STAGE, Options())
    state = _walk(state, *[Command(Kind.DONE)] * 4, Command(Kind.COUNT, 3))
    saved: dict[str, Any] = json.loads(state.to_json())
    return saved


def test_a_long_walk_fits_a_small_record() -> None:
    """A 300-end walk with an override in every twentieth group stays under 4 KB at every step."""
    stage = straight(groups=75)
    state, _ = start(stage, Options())
    longest = 0
    for group in range(75):
        commands = [Command(Kind.DONE)] * 4 + [Command(Kind.COUNT, 4)]
        if group % 20 == 0:
            reason = "counted twice by touch, one end fewer was wound here"
            commands[4:] = [
                Command(Kind.COUNT, 3),
                Command(Kind.ACCEPT, text=reason),
                Command(Kind.YES),
            ]
        for command in commands:
            state = step(state, command, stage).state
            longest = max(longest, len(state.to_json().encode()))
    assert state.mode is Mode.FINISHED
    assert len(state.overrides) == 4
    assert longest < 4096


def test_at_least_twenty_changes_can_be_undone() -> None:
    """The stack is bounded, and deep enough."""
    stage = straight(groups=1, length=100)
    state, _ = start(stage, Options())
    for _ in range(60):
        state = step(state, Command(Kind.DONE), stage).state
    while step(state, Command(Kind.UNDO), stage).is_accepted:
        state = step(state, Command(Kind.UNDO), stage).state
    assert state.confirmed == 60 - UNDO_DEPTH
    assert UNDO_DEPTH >= 20


def test_a_long_reason_is_cut() -> None:
    """A reason is kept up to a length and without marks that cannot be written."""
    state = State.from_json(json.dumps(_saved()))
    state = _walk(state, Command(Kind.ACCEPT, text="\udc80\n" + "x" * 500), Command(Kind.YES))
    assert state.overrides[0].reason == "x" * REASON_LENGTH


def test_an_undone_override_comes_back_whole() -> None:
    """Going back behind an override drops it; undoing that restores it."""
    state = State.from_json(json.dumps(_saved()))
    accepted = _walk(state, Command(Kind.ACCEPT, text="felt"), Command(Kind.YES))
    back = _walk(accepted, Command(Kind.BACK))
    assert back.overrides == ()
    again = State.from_json(_walk(back, Command(Kind.DONE)).to_json())
    restored = _walk(again, Command(Kind.UNDO), Command(Kind.UNDO))
    assert restored.overrides == accepted.overrides
    assert _walk(restored, Command(Kind.UNDO)).overrides == ()


def test_every_cut_of_a_record_is_refused() -> None:
    """Half a record is never taken for a walk."""
    text = json.dumps(_saved())
    for length in range(len(text)):
        with pytest.raises(JournalError):
            State.from_json(text[:length])


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["version"], 1),
        (["version"], "1"),
        (["state", "confirmed"], -1),
        (["state", "confirmed"], 1.5),
        (["state", "confirmed"], "4"),
        (["state", "confirmed"], True),
        (["state", "base"], "reading"),
        (["state", "stage"], "weaving"),
        (["state", "undo"], [[1, 2]]),
        (["state", "undo"], None),
        (["state", "options", "ask_counts"], "yes"),
        (["state", "options", "colour"], True),
        (["state", "let_stand"], [{"group": 1}]),
        (["state", "question"], {"kind": "jump"}),
        (["state", "extra"], 0),
        (["extra"], 0),
    ],
)
def test_a_foreign_record_is_refused_in_one_line(path: list[str], value: object) -> None:
    """Wrong versions, types and names are errors, never a fresh start."""
    saved = _saved()
    place = saved
    for part in path[:-1]:
        place = place[part]
    place[path[-1]] = value
    with pytest.raises(JournalError, match="damaged or from another version") as error:
        State.from_json(json.dumps(saved))
    assert "\n" not in str(error.value)


@given(st.text() | st.recursive(st.none() | st.integers(), st.lists).map(json.dumps))
def test_no_text_but_a_record_is_a_state(text: str) -> None:
    """Whatever else is in the journal is refused, not guessed at."""
    with pytest.raises(JournalError):
        State.from_json(text)


@pytest.mark.parametrize(
    "changes",
    [
        {"stage": "sley"},
        {"steps": 13},
        {"confirmed": 5},
        {"confirmed": 13},
        {"checked": 1},
        {"checked": 9},
        {"base": Mode.WALKING},
        {"base": Mode.FINISHED},
        {"count": None},
        {"reading": (1, 13, 1)},
        {"reading": (3, 2, 3)},
        {"reading": (0, 2, 0)},
        {"question": Command(Kind.REWIND, 9)},
        {"question": Command(Kind.DONE)},
        {"undo": (Work(confirmed=9),)},
        {"undo": (Work(standing=(0,)),)},
        {"standing": (0,)},
        {"made": (0,)},
        {"anew": (0,)},
        {"mending": Mending(0, 0)},
        {"mends": (MEND,), "mending": Mending(0, 1)},
        {"mends": (MEND,), "mending": Mending(0, 0), "question": Command(Kind.MEND, 0)},
        {"left": (0,)},
    ],
)
def test_a_state_of_another_plan_is_refused(changes: dict[str, Any]) -> None:
    """A place that cannot be in this stage is an error when the walk would go on."""
    state = State.from_json(json.dumps(_saved()))
    check_fits(state, STAGE)
    foreign = State.from_json(replace(state, **changes).to_json())
    with pytest.raises(JournalError, match="does not fit the 12 steps"):
        welcome_back(foreign, STAGE)


def test_a_stage_may_begin_with_a_floating_selvedge() -> None:
    """End 0 stands for the selvedge that is in none of the heddles."""
    stage = make_stage("thread-and-sley", [("", [Made(()), Made((1,)), Made((2,))])])
    state, _ = start(stage, Options())
    state = step(state, Command(Kind.DONE), stage).state
    assert step(state, Command(Kind.REWIND, 0), stage).state.confirmed == 0
    assert not step(_walk(start(STAGE, Options())[0]), Command(Kind.REWIND, 0), STAGE).is_accepted
