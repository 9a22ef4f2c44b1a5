"""The events of every command: they explain what changed, and the record keeps them with it."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st
from journal_walker import begin
from made_stages import COMMANDS, OPTIONS, stages
from pydantic import TypeAdapter
from test_mend_properties import STAGES, WORDS, as_told

from companion.command import Command, Kind
from companion.command.words import FORMS
from companion.devices.speech.voice import Voice
from companion.guide import Mode, Options, State, events, read_on, start, step
from companion.record import EntryKind
from companion.session.inputs import Input
from companion.session.presenter import Console, Presenter
from companion.session.walk import StageWalk
from companion.wording import Style

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pytest

    from companion.guide import Event, Outcome
    from companion.guide.events import MendAccount, Overridden
    from companion.job import Stage

KEPT = TypeAdapter(Command)
"""Reads a command as the record keeps it."""


@dataclass(frozen=True)
class Account:
    """The work as far as events alone tell of it."""

    confirmed: int
    reached: int
    """Steps confirmed or only read on."""
    closed: int
    overrides: tuple[Overridden, ...]
    mends: tuple[MendAccount, ...]
    is_paused: bool

    def after(self, event: Event) -> Account:
        told: dict[str, object] = {}
        match event:
            case events.Confirmed(first, last):
                assert first == self.confirmed + 1
                told = {"confirmed": last, "reached": last}
            case events.ReadOn(first, last):
                assert first == self.reached + 1
                told = {"reached": last}
            case events.TakenBack(first, last, reopened):
                assert last == self.reached
                standing = tuple(each for each in self.overrides if each.step < first)
                closed = reopened - 1 if reopened else self.closed
                told = {"closed": closed, "overrides": standing, "reached": first - 1}
                told["confirmed"] = min(self.confirmed, first - 1)
            case events.GroupClosed(group):
                assert group == self.closed + 1
                told = {"closed": group}
            case events.Overridden():
                told = {"overrides": (*self.overrides, event)}
            case events.MendFinished(account):
                told = {"mends": (*self.mends, account)}
            case events.Undone(reached, closed, overrides, mends, only_read):
                told = {"reached": reached, "closed": closed, "overrides": overrides}
                told["confirmed"] = reached - only_read
                told["mends"] = self.mends[:mends]
            case events.Paused() | events.Resumed():
                told = {"is_paused": isinstance(event, events.Paused)}
        return replace(self, **told)  # type: ignore[arg-type]


def account_of(state: State) -> Account:
    return Account(
        state.sure, state.confirmed, state.checked, state.overrides, state.mended, state.is_paused
    )


def walked(
    stage: Stage, options: Options, commands: Iterable[Command | None]
) -> Iterator[tuple[State, Outcome]]:
    state, _ = start(stage, options)
    for wanted in commands:
        paced = read_on(state, stage) if wanted is PACE else None
        outcome = paced or step(state, wanted or as_told(state, stage), stage)
        yield state, outcome
        state = outcome.state


def assert_explained(before: State, outcome: Outcome) -> None:
    account = account_of(before)
    for event in outcome.events:
        account = account.after(event)
    assert account == account_of(outcome.state)
    kinds = {type(event) for event in outcome.events}
    assert outcome.is_accepted or not kinds
    is_end = before.base is not Mode.FINISHED and outcome.state.base is Mode.FINISHED
    assert (events.StageFinished in kinds) == (is_end and events.Undone not in kinds)
    chosen = len(outcome.state.mends) > len(before.mends)
    assert (events.MendChosen in kinds) == chosen
    assert len(outcome.state.undo) == len(before.undo) or kinds
    assert events.from_json(events.to_json(outcome.events)) == outcome.events


PACE = Command(Kind.KEEP_GOING)
"""Stands for the time at which the walk goes on by itself."""


@given(stages(), OPTIONS, st.lists(COMMANDS | st.none() | st.just(PACE), max_size=40))
def test_events_explain_every_change(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """From the work before and the events alone comes the work after, in any stage."""
    for before, outcome in walked(stage, options, commands):
        assert_explained(before, outcome)


@settings(max_examples=80)
@given(st.sampled_from(STAGES), OPTIONS, st.lists(WORDS, max_size=60), st.integers(0, 9))
def test_events_explain_mends(
    stage: Stage, options: Options, words: list[Command | None], done: int
) -> None:
    """So it is where much is reported wrong, mended, left and undone."""
    for before, outcome in walked(stage, options, [Command(Kind.DONE)] * done + words):
        assert_explained(before, outcome)


SAID = st.sampled_from([form for kind in Kind for form in FORMS["en"][kind]]).map(
    lambda form: form.format(n=4, end=2, reason="felt") if "{" in form else form
)


@settings(max_examples=25)
@given(
    stage=st.sampled_from(STAGES),
    options=OPTIONS,
    said=st.lists(SAID | st.sampled_from(["done", "8", "hullo", "1 2 3 3"]), max_size=40),
)
def test_the_record_replayed_gives_the_same_states_and_events(
    tmp_path_factory: pytest.TempPathFactory, stage: Stage, options: Options, said: list[str]
) -> None:
    """Each entry's command, given to the state before it, brings the entry's state and events."""
    with begin(tmp_path_factory.mktemp("walk")) as journal:
        presenter = Presenter(Console(io.StringIO()), Voice(), Style())
        walk = StageWalk(stage, journal, presenter, options)
        walk.begin()
        for words in said:
            walk.take(Input("command", words, "line"))
        opened, *entries = journal.entries()
        assert opened.state is not None
        state = State.from_json(opened.state)
        for entry in entries:
            if entry.command is None:
                assert (entry.kind, entry.state, entry.events) == (EntryKind.REFUSED, None, "[]")
                continue
            outcome = step(state, KEPT.validate_json(entry.command), stage)
            assert outcome.events == events.from_json(entry.events)
            assert outcome.is_accepted == (entry.kind is EntryKind.COMMAND)
            if entry.state is None:
                assert not outcome.is_accepted
            else:
                assert outcome.state == State.from_json(entry.state)
            state = outcome.state
            assert (entry.position, entry.is_finished) == (
                state.sure,
                state.base is Mode.FINISHED,
            )
        assert state == walk.state


@given(COMMANDS)
def test_a_command_comes_back_from_the_record(command: Command) -> None:
    """What a command carries is kept whole, on one line."""
    text = command.to_json()
    assert KEPT.validate_json(text) == command
    assert "\n" not in text
