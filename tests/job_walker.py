"""Walking a stage as its weaver would, for the tests of the stages."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from small_plans import plans

from companion.command import Command, Kind
from companion.guide import Mode, Options, Say, State, start, step
from companion.guide.place import expected_so_far
from companion.plan.equipment import Beam
from companion.plan.schema import Length
from companion.wording import Style, render
from companion.wording.callouts import describe
from companion.wording.notes import step_note
from companion.wording.stages import group_name

if TYPE_CHECKING:
    from companion.guide import Message
    from companion.job import Stage
    from companion.plan.file.reader import Plan


def right_command(state: State, stage: Stage) -> Command:
    """Return the command of a weaver to whom all goes as planned."""
    if state.mode in {Mode.COUNTING, Mode.LEFT_OVER, Mode.HELD}:
        return Command(Kind.COUNT, expected_so_far(state, stage))
    return Command(Kind.DONE)


def walk(stage: Stage, options: Options | None = None) -> list[Message]:
    """Return everything that is said from the first step of a stage to its end."""
    state, effects = start(stage, options or Options())
    said = [effect.message for effect in effects if isinstance(effect, Say)]
    while state.mode is not Mode.FINISHED:
        outcome = step(state, right_command(state, stage), stage)
        assert outcome.is_accepted
        state = outcome.state
        said += [effect.message for effect in outcome.effects if isinstance(effect, Say)]
    return said


def printed(messages: list[Message]) -> list[str]:
    """Return messages as they are printed."""
    return [render(message, Style()).text for message in messages]


def notes_of(stage: Stage) -> dict[int, str]:
    """Return the notes of those steps that have one, by step number."""
    notes = {step.number: step_note(step, stage) for step in stage.steps}
    return {number: note for number, note in notes.items() if note}


def told(stage: Stage) -> list[str]:
    """Return every step in its words."""
    return [describe(step, stage) for step in stage.steps]


def named(stage: Stage) -> list[str]:
    """Return what every group is called."""
    return [group_name(group, stage) for group in stage.groups]


LENGTHS: dict[str, Any] = {
    "finished": 60,
    "take_up": "10 %",
    "shrinkage": "10 %",
    "loom_waste": 30,
}
LENGTH = Length.model_validate(LENGTHS)
SHAFT_SETS = st.lists(st.integers(1, 4), unique=True, max_size=4).map(sorted).map(tuple)


@st.composite
def job_plans(draw: st.DrawFn) -> Plan:
    """Draw a plan of the whole job, with or without a raddle, lengths and a tie-up."""
    plan = draw(plans())
    file = plan.file.model_copy(
        update={
            "warp": plan.file.warp.model_copy(update={"wound_together": draw(st.integers(1, 4))}),
            "units": draw(st.sampled_from(["inch", "metric"])),
            "raddle": draw(st.sampled_from([None, plan.file.raddle])),
            "loom": plan.file.loom.model_copy(
                update={
                    "kind": draw(st.sampled_from([None, "jack", "counterbalance", "countermarch"])),
                    "heddles": draw(st.sampled_from([None, (999, 999, 999, 999)])),
                }
            ),
            "reed": plan.file.reed.model_copy(update={"width": 3 * plan.file.reed.width}),
            "length": draw(st.sampled_from([None, LENGTH])),
            "beam": draw(st.sampled_from([None, Beam(around=Fraction(20), turns_a_step=2)])),
        }
    )
    treadles = tuple(draw(st.lists(SHAFT_SETS, max_size=6)))
    pressed = st.lists(st.integers(1, max(1, len(treadles))), min_size=1, max_size=2, unique=True)
    picks = draw(st.lists(pressed.map(tuple), max_size=4)) if treadles else []
    draft = replace(
        plan.draft,
        treadles=treadles,
        picks=tuple(picks),
        is_rising_shed=draw(st.booleans()),
    )
    return replace(plan, file=file, draft=draft)
