"""What holds of mends for any slip in a small threading, and for any commands.

That the mend which undoes the least comes first is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from made_stages import OPTIONS
from small_plans import make_plan
from small_plans import straight as straight_shafts

from companion.command import Command, Kind
from companion.guide import (
    Mode,
    Options,
    State,
    check_fits,
    start,
    step,
    welcome_back,
)
from companion.guide.place import expected_so_far
from companion.guide.state import work_of
from companion.guide.terms import Do, Task
from companion.job import StageName, stage
from companion.loom.compute import compute, read_and_compute

if TYPE_CHECKING:
    from companion.job import Stage

FIRST_TRY = Path(__file__).parent.parent / "plans" / "first-try.toml"
DRESSING = read_and_compute(FIRST_TRY)[1]
NAMES: tuple[StageName, ...] = ("thread-and-sley", "thread", "sley")
STAGES: tuple[Stage, ...] = tuple(stage(DRESSING, name) for name in NAMES)
SHAFT = st.integers(1, 4)
ROWS = st.lists(SHAFT, min_size=4, max_size=10).map(tuple)
"""Shafts, or ends in dents, as a weaver may feel them."""
AS_TOLD = None
WORDS = st.one_of(
    st.just(AS_TOLD),
    st.just(AS_TOLD),
    st.just(Command(Kind.DONE)),
    st.sampled_from([Command(kind) for kind in Kind]),
    st.sampled_from([Command(Kind.MEND), Command(Kind.YES)]),
    st.builds(lambda row: Command(Kind.COUNT, numbers=row), ROWS),
    st.builds(Command, st.just(Kind.COUNT), st.integers(5, 11)),
    st.builds(Command, st.sampled_from([Kind.SPARE, Kind.LACKING]), SHAFT),
    st.builds(Command, st.just(Kind.REWIND), st.integers(1, 12)),
)


def as_told(state: State, walked: Stage) -> Command:
    """Return the command that the guide is waiting for."""
    if state.mode in {Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD}:
        return Command(Kind.COUNT, expected_so_far(state, walked))
    return Command(Kind.DONE)


@settings(max_examples=60)
@given(st.sampled_from(STAGES), OPTIONS, st.lists(WORDS, max_size=60), st.integers(0, 9))
def test_mends_keep_the_walk_in_order(
    walked: Stage, options: Options, words: list[Command | None], done: int
) -> None:
    """Whatever is reported and mended, the walk fits its stage, survives its JSON, refuses without
    a change, and one undo takes back what one command did."""
    state, _ = start(walked, options)
    for wanted in [Command(Kind.DONE)] * done + words:
        outcome = step(state, wanted or as_told(state, walked), walked)
        after = outcome.state
        check_fits(after, walked)
        assert after == State.from_json(after.to_json())
        assert welcome_back(after, walked)
        assert outcome.is_accepted or after == state
        if len(after.undo) > len(state.undo):
            undone = step(after, Command(Kind.UNDO), walked).state
            assert work_of(undone) == work_of(state)
        state = after


@given(st.sampled_from(STAGES), st.lists(WORDS, max_size=60))
def test_a_mend_is_only_begun_by_yes(walked: Stage, words: list[Command | None]) -> None:
    """Nothing is pulled or tied unasked, and a count is never right because of a mend alone."""
    state, _ = start(walked, Options())
    for wanted in [Command(Kind.DONE)] * 8 + words:
        command = wanted or as_told(state, walked)
        after = step(state, command, walked).state
        if state.mending is None and after.mending is not None:
            assert command.kind in {Kind.YES, Kind.UNDO}
        if len(after.mended) > len(state.mended):
            assert command.kind in {Kind.YES, Kind.DONE}
            assert after.checked <= state.checked
        state = after


class Threaded(NamedTuple):
    """An end in a heddle; an end too many has number 0."""

    end: int
    shaft: int


class Loom:
    """A row of ends in heddles, on which tasks are carried out."""

    def __init__(self, shafts: tuple[int, ...]) -> None:
        self.ends = [Threaded(end, shaft) for end, shaft in enumerate(shafts, start=1)]
        self.tied = 0

    def felt(self) -> tuple[int, ...]:
        return tuple(threaded.shaft for threaded in self.ends)

    def carry_out(self, task: Task) -> None:
        """Do what a task says; it fails where the loom is not as the task takes it to be."""
        span = range(task.first, task.last + 1)
        match task.do:
            case Do.FIND:
                self.ends.remove(Threaded(task.first, task.shaft))
            case Do.FIND_MISSED | Do.FIND_FIRST:
                assert task.first not in {threaded.end for threaded in self.ends}
            case Do.PULL:
                self.ends = [threaded for threaded in self.ends if threaded.end not in span]
            case Do.TIE:
                self.tied = task.shaft
            case Do.DRAW_REPAIR:
                assert self.tied == task.shaft
                self._draw(task)
            case Do.DRAW | Do.DRAW_EMPTY:
                self._draw(task)
            case Do.FIND_EXTRA | Do.FIND_DOUBLED:
                assert Threaded(0, task.shaft) in self.ends
            case Do.PULL_EXTRA:
                assert task.shaft == sum(not threaded.end for threaded in self.ends)
                self.ends = [threaded for threaded in self.ends if threaded.end]
            case _:
                assert task.do in {Do.DENT, Do.LEAVE}

    def _draw(self, task: Task) -> None:
        self.ends = sorted([*self.ends, Threaded(task.first, task.shaft)])


def slipped(data: st.DataObject, loom: Loom) -> None:
    """Make one slip on the loom."""
    place = data.draw(st.integers(0, len(loom.ends) - 2))
    end, after = loom.ends[place], loom.ends[place + 1]
    kind = data.draw(st.sampled_from(["wrong", "missed", "extra", "crossed", "doubled"]))
    if kind == "wrong":
        loom.ends[place] = end._replace(shaft=data.draw(SHAFT))
    elif kind == "missed":
        del loom.ends[place]
    elif kind == "extra":
        loom.ends.insert(place, Threaded(0, data.draw(SHAFT)))
    elif kind == "doubled":
        loom.ends.insert(place + 1, Threaded(0, end.shaft))
    else:
        loom.ends[place : place + 2] = [
            Threaded(end.end, after.shaft),
            Threaded(after.end, end.shaft),
        ]


@given(st.data(), st.sampled_from([8, 12, 16]), st.sampled_from(["thread", "thread-and-sley"]))
def test_a_mend_carried_out_makes_the_loom_right(
    data: st.DataObject, size: int, name: StageName
) -> None:
    """Any one slip, felt and mended task by task on a model of the loom, leaves it as planned."""
    shafts = straight_shafts(size)
    dressing = compute(make_plan(shafts, groups={"by": "ends", "size": size}))
    walked = stage(dressing, name)
    loom = Loom(shafts)
    slipped(data, loom)
    assume(loom.felt() != shafts)
    state, _ = start(walked, Options())
    for _ in range(size):
        state = step(state, Command(Kind.DONE), walked).state
    count = len(loom.ends)
    if count != size:
        state = step(state, Command(Kind.COUNT, count), walked).state
    for word in (Command(Kind.COUNT, numbers=loom.felt()), Command(Kind.MEND)):
        outcome = step(state, word, walked)
        assert outcome.is_accepted
        state = outcome.state
    state = step(state, Command(Kind.YES), walked).state
    if state.mending is None:
        assert state.mode is Mode.WALKING
        right = [threaded for threaded in loom.ends if 0 < threaded.end <= state.confirmed]
        assert right == [Threaded(end + 1, shafts[end]) for end in range(state.confirmed)]
        return
    while state.mending is not None:
        loom.carry_out(state.mends[state.mending.mend].tasks[state.mending.task])
        state = step(State.from_json(state.to_json()), Command(Kind.DONE), walked).state
    assert loom.felt() == shafts
    assert state.mode is Mode.COUNTING
    assert len(state.mended) == 1
