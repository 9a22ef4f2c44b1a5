"""The demo plans walked from the first end to the last, as their weavers would."""

from __future__ import annotations

import pytest
from paper_plans import NAMES as PLANS
from paper_plans import demo

from companion.command import Command, Kind
from companion.command.size import read_size
from companion.guide import Message, Mode, Options, Say, events, start, step
from companion.guide import messages as m
from companion.guide.place import expected_so_far
from companion.job import Stage, StageName, stage
from companion.wording import Style, render

NAMES: tuple[StageName, ...] = ("thread-and-sley", "thread", "sley")


def walk(walked: Stage, size: str) -> list[Message]:
    """Return everything that is said when all goes as planned."""
    state, effects = start(walked, Options(size=read_size(size)))
    said = [effect.message for effect in effects if isinstance(effect, Say)]
    while state.mode is not Mode.FINISHED:
        is_due = state.mode is Mode.COUNTING
        number = expected_so_far(state, walked) if is_due else None
        outcome = step(state, Command(Kind.COUNT if is_due else Kind.DONE, number), walked)
        assert outcome.is_accepted
        state = outcome.state
        said += [effect.message for effect in outcome.effects if isinstance(effect, Say)]
    return said


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", ["1", "4", "unit", "dent", "group"])
def test_a_demo_plan_is_walked_to_its_end(plan: str, name: StageName, size: str) -> None:
    """Every step is called once in order, every group is counted, and the totals come last."""
    walked = stage(demo(plan), name)
    said = walk(walked, size)
    called = [step for message in said if isinstance(message, m.StepCall) for step in message.steps]
    assert called == list(walked.steps)
    assert len(walked.groups) == sum(isinstance(message, events.Counted) for message in said)
    total = sum(group.expected for group in walked.groups)
    assert f": {total} {walked.counted}s in " in render(said[-1], Style()).text
