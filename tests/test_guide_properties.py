"""What holds of the guide for any stage, any options and any commands."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import assume, given
from hypothesis import strategies as st
from made_stages import COMMANDS, OPTIONS, stages

from companion.command import Command, Kind
from companion.guide import (
    Mode,
    Options,
    Outcome,
    Say,
    State,
    check_fits,
    start,
    step,
    upcoming,
    welcome_back,
)
from companion.guide.place import expected_so_far
from companion.guide.state import NOTHING, UNDO_DEPTH, Work, work_of
from companion.job.handful import handful

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.guide import Effects, Message
    from companion.job import Stage

ASIDE = {Kind.REPEAT, Kind.HELP, Kind.WHERE, Kind.CAUTIONS, Kind.SLOWER, Kind.FASTER}
AS_TOLD = None
"""In a list of commands: whatever the guide is waiting for."""
SEQUENCES = st.lists(COMMANDS | st.just(AS_TOLD) | st.just(AS_TOLD), max_size=40)
READINGS = st.builds(
    Command, st.just(Kind.READ_BACK), st.none() | st.integers(0, 6), is_end=st.booleans()
)
UNDOABLE = {Kind.DONE, Kind.BACK, Kind.COUNT, Kind.MISTAKE, Kind.YES, Kind.REWIND}


def walked(
    stage: Stage, options: Options, commands: Iterable[Command | None]
) -> Iterator[tuple[State, Command, Outcome]]:
    state, _ = start(stage, options)
    for wanted in commands:
        command = wanted or right_command(state, stage)
        outcome = step(state, command, stage)
        yield state, command, outcome
        state = outcome.state


def state_after(stage: Stage, options: Options, commands: Iterable[Command | None]) -> State:
    state, _ = start(stage, options)
    for _, _, outcome in walked(stage, options, commands):
        state = outcome.state
    return state


def work(state: State) -> Work:
    """Return how the work stands, without what is only reported or told of it."""
    return replace(work_of(state), reported=NOTHING, is_explained=False, felt_wrong=())


def messages(effects: Effects) -> list[Message]:
    return [effect.message for effect in effects if isinstance(effect, Say)]


def right_command(state: State, stage: Stage) -> Command:
    if state.base in {Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD}:
        return Command(Kind.COUNT, expected_so_far(state, stage))
    return Command(Kind.DONE)


@given(stages(), OPTIONS, SEQUENCES)
def test_any_commands_keep_the_walk_in_order(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """No command breaks the walk, and a refused one changes nothing and says so."""
    for before, _, outcome in walked(stage, options, commands):
        check_fits(outcome.state, stage)
        assert 0 <= outcome.state.confirmed <= len(stage.steps)
        assert outcome.effects
        assert outcome.is_accepted or outcome.state == before
        assert len(outcome.state.undo) <= UNDO_DEPTH


@given(stages(), OPTIONS, SEQUENCES)
def test_a_state_survives_its_json(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """At every step the state comes back from its JSON exactly, and goes on with a greeting."""
    for _, _, outcome in walked(stage, options, commands):
        text = outcome.state.to_json()
        assert outcome.state == State.from_json(text)
        assert text.isprintable()
        assert messages(welcome_back(outcome.state, stage))


@given(stages(), OPTIONS, SEQUENCES)
def test_the_accepted_commands_alone_give_the_same_state(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """A journal that keeps the accepted commands keeps the walk."""
    accepted: list[Command | None] = [
        command for _, command, outcome in walked(stage, options, commands) if outcome.is_accepted
    ]
    assert state_after(stage, options, commands) == state_after(stage, options, accepted)


@given(stages(), OPTIONS, SEQUENCES)
def test_done_then_back_stays_in_place(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """Confirming a step and taking it away again leaves the walk on the same step."""
    state = state_after(stage, options, commands)
    assume(state.mode is Mode.WALKING)
    # Rewinding may lead into the middle of what is told together.
    assume(handful(stage, state.confirmed + 1, state.options.size)[0] == state.confirmed + 1)
    in_hand = handful(stage, state.confirmed + 1, state.options.size)[1]
    done = step(state, Command(Kind.DONE), stage)
    back = step(done.state, Command(Kind.BACK), stage)
    assert done.state.confirmed == in_hand
    assert work(back.state) == work(state)


@given(stages(), OPTIONS, SEQUENCES)
def test_undo_reverses_every_change_of_the_work(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """Whatever a command did to the work, one undo after it takes back, and nothing else."""
    for before, command, outcome in walked(stage, options, commands):
        if command.kind is Kind.UNDO or work(outcome.state) == work(before):
            continue
        assert command.kind in UNDOABLE
        after = step(outcome.state, Command(Kind.UNDO), stage)
        assert after.is_accepted
        assert work(after.state) == work(before)


@given(stages(), OPTIONS, SEQUENCES)
def test_many_undos_walk_the_whole_way_back(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """Undone one by one, the last twenty changes and more pass by in reverse."""
    state, _ = start(stage, options)
    seen = [work(state)]
    for before, command, outcome in walked(stage, options, commands):
        state = outcome.state
        if command.kind is Kind.UNDO and outcome.is_accepted:
            seen.pop()
        elif len(state.undo) > len(before.undo) or work(state) != work(before):
            seen.append(work(state))
    state = step(state, Command(Kind.RESUME), stage).state if state.is_paused else state
    state = step(state, Command(Kind.NO), stage).state if state.question else state
    for expected in [*reversed(seen[:-1])][:UNDO_DEPTH]:
        state = step(state, Command(Kind.UNDO), stage).state
        assert expected == work(state)


def is_let_stand(command: Command, expected: int, stage: Stage) -> bool:
    return stage.only_warns and command.kind is Kind.COUNT and command.number != expected


@given(stages(), OPTIONS.map(lambda some: replace(some, ask_counts=True)), SEQUENCES)
def test_no_boundary_is_passed_unchecked(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """A group with something to count is closed only by its right count or by an override that is
    on record; the weaver gives it herself, or a stage that only warns gives it for her."""
    for before, command, outcome in walked(stage, options, commands):
        after = outcome.state
        if after.checked <= before.checked or command.kind is Kind.UNDO:
            continue
        group = stage.groups[before.checked]
        assert after.checked == before.checked + 1
        assert after.confirmed == group.last_step
        if not group.expected:
            assert command.kind is Kind.DONE
        elif group.number in after.affirmed:
            assert command.kind in {Kind.YES, Kind.DONE}
            assert not options.demand_counts
            assert before.doubted != group.number
        elif command.kind is Kind.YES or is_let_stand(command, group.expected, stage):
            assert after.overrides[-1].group == group.number
            assert after.overrides[-1].step == group.last_step
            given = before.count if command.kind is Kind.YES else command.number
            assert after.overrides[-1].count == given
        else:
            assert (command.kind, command.number) == (Kind.COUNT, group.expected)


@given(stages(), OPTIONS, SEQUENCES)
def test_overrides_belong_to_what_is_closed(
    stage: Stage, options: Options, commands: list[Command | None]
) -> None:
    """An override is forgotten when the step it was given at is taken away."""
    for _, _, outcome in walked(stage, options, commands):
        steps = [given.step for given in outcome.state.overrides]
        assert steps == sorted(steps)
        assert all(number <= outcome.state.confirmed for number in steps)


@given(stages(), OPTIONS)
def test_doing_as_told_finishes_every_stage(stage: Stage, options: Options) -> None:
    """Done for every step and the right count for every group end the stage, and no sooner."""
    state, _ = start(stage, options)
    taken = 0
    while state.mode is not Mode.FINISHED:
        outcome = step(state, right_command(state, stage), stage)
        assert outcome.is_accepted
        state, taken = outcome.state, taken + 1
    counts = sum(bool(group.expected) for group in stage.groups) if options.ask_counts else 0
    firsts = {handful(stage, step.number, options.size)[0] for step in stage.steps}
    assert len(firsts) + counts == taken
    assert state.overrides == ()


@given(stages(), OPTIONS, SEQUENCES, st.integers(0, 12))
def test_what_is_foreseen_is_what_is_said(
    stage: Stage, options: Options, commands: list[Command | None], limit: int
) -> None:
    """The messages prepared ahead are those that doing as told brings."""
    state = state_after(stage, options, commands)
    assume(state.mode not in {Mode.PAUSED, Mode.CONFIRMING, Mode.READING})
    foreseen = upcoming(state, stage, limit)
    said: list[Message] = []
    while len(said) < limit and state.mode is not Mode.FINISHED:
        outcome = step(state, right_command(state, stage), stage)
        said += messages(outcome.effects)
        state = outcome.state
    assert foreseen == tuple(said[:limit])


@given(stages(), OPTIONS, SEQUENCES, READINGS)
def test_a_reading_comes_back_to_where_it_was(
    stage: Stage, options: Options, commands: list[Command | None], reading: Command
) -> None:
    """Read through or broken off, a read-back leaves the state exactly as it found it."""
    state = state_after(stage, options, commands)
    assume(state.mode in {Mode.WALKING, Mode.COUNTING, Mode.HELD, Mode.FINISHED})
    begun = step(state, reading, stage).state
    broken_off = begun
    if begun.mode is Mode.READING:
        broken_off = step(begun, Command(Kind.RESUME), stage).state
    read_through = begun
    while read_through.mode is Mode.READING:
        read_through = step(read_through, Command(Kind.DONE), stage).state
    assert broken_off == read_through == state


@given(stages(), OPTIONS, SEQUENCES, COMMANDS)
def test_a_pause_lets_nothing_through(
    stage: Stage, options: Options, commands: list[Command | None], command: Command
) -> None:
    """While paused the work stands still, and resuming finds everything as it was."""
    state = state_after(stage, options, commands)
    assume(not state.is_paused and state.question is None)
    paused = step(state, Command(Kind.PAUSE), stage).state
    outcome = step(paused, command, stage)
    if command.kind is Kind.RESUME:
        assert outcome.state == state
    else:
        assert outcome.state == paused
        assert step(outcome.state, Command(Kind.RESUME), stage).state == state


@given(stages(), OPTIONS, SEQUENCES, COMMANDS)
def test_only_yes_does_what_was_asked_about(
    stage: Stage, options: Options, commands: list[Command | None], command: Command
) -> None:
    """Anything but yes leaves the work as it is."""
    state = state_after(stage, options, [AS_TOLD, *commands])
    asking = Command(Kind.ACCEPT) if state.mode is Mode.HELD else Command(Kind.REWIND, 1)
    state = step(state, asking, stage).state
    assume(state.mode is Mode.CONFIRMING)
    outcome = step(state, command, stage)
    is_reason = command.kind is asking.kind is Kind.ACCEPT  # which may come once it is asked
    is_kept_open = command.kind in ASIDE or is_reason
    assert (outcome.state.question is not None) == is_kept_open
    assert (work(outcome.state) != work(state)) == (command.kind is Kind.YES)
