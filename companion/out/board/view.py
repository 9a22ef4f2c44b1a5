"""What the board shows of a walk, as plain values for the page."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from companion.guide.messages import Mode, ReadStep, StepCall
from companion.guide.place import present, present_group
from companion.job.step_builder import number_of
from companion.wording import Style, notices, render
from companion.wording.mending import left_asked
from companion.wording.steps import describe, sentence

if TYPE_CHECKING:
    from companion.guide.state import State
    from companion.job import Stage, Step

_TO_COUNT: Final = frozenset({Mode.COUNTING, Mode.HELD})


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the walk."""

    stage: str
    """What is being walked, "threading and sleying"."""
    mode: str
    """A value of `Mode`."""
    name: str
    """What the present step handles, "End 37"; "" where the walk waits for something else."""
    now: str
    """What to do, in a few words, or the question that is open."""
    around: str
    """What comes with the step: dents left empty, a new colour, a named part, a reminder."""
    before: str
    """The step before; "" at the first."""
    after: str
    """The step after; "" at the last."""
    progress: str
    """The place in words."""
    confirmed: int
    total: int
    count_asked: str
    """The question for a count; "" where none is due."""
    is_asked: bool
    """Whether yes or no is awaited."""
    is_held: bool
    """Whether a count that is not as planned may be let stand."""
    is_paused: bool

    def as_values(self) -> dict[str, Any]:
        """Return the fields by their names, ready for JSON."""
        return asdict(self)


def view_of(state: State, stage: Stage, language: str, *, is_leaving: bool = False) -> View:
    """Return what the board shows.

    Args:
        state: where the walk is.
        stage: what is being walked.
        language: of the commands, for the words that answer a question.
        is_leaving: whether the walk asks if the weaver means to leave.
    """
    name, now, around = _now(state, stage, language)
    if is_leaving:
        name, now, around = "", notices.leave_question(), ""
    is_asked = is_leaving or state.mode is Mode.CONFIRMING
    at = state.reading.at if state.reading else state.confirmed + 1
    return View(
        stage=stage.title,
        mode=Mode.CONFIRMING if is_leaving else state.mode,
        name=name,
        now=now,
        around=around,
        before=_neighbour(stage, at - 1),
        # While something else is awaited, the step that follows is the one not yet shown.
        after=_neighbour(stage, at + 1 if name or state.reading else at),
        progress=_progress(state, stage),
        confirmed=state.confirmed,
        total=len(stage.steps),
        count_asked=_count_asked(state, stage) if not is_asked else "",
        is_asked=is_asked,
        is_held=state.mode is Mode.HELD,
        is_paused=state.is_paused,
    )


def _now(state: State, stage: Stage, language: str) -> tuple[str, str, str]:
    """Return what the present step handles, what to do, and what comes with it."""
    message = present(state, stage)
    if not isinstance(message, StepCall) or isinstance(message, ReadStep):
        return "", render(message, Style("natural", language)).text, ""
    step = message.step
    name, found, what = describe(step, stage.counted).partition(": ")
    if not found:
        name, what = "", name
    around = [
        f"Leave {number_of(step.empty_dents, 'dent')} empty." if step.empty_dents else "",
        *(sentence(named.colour) for named in message.named if named.colour),
        *(sentence(f"{each.unit}, unit {each.unit_number}") for each in message.named if each.unit),
        step.note,
    ]
    return (
        name[:1].upper() + name[1:],
        what[:1].upper() + what[1:],
        " ".join(part for part in around if part),
    )


def _neighbour(stage: Stage, number: int) -> str:
    step: Step | None = stage.steps[number - 1] if 1 <= number <= len(stage.steps) else None
    return sentence(describe(step, stage.counted)) if step else ""


def _progress(state: State, stage: Stage) -> str:
    group = present_group(state, stage)
    name = f", {group.name}" if group.name else ""
    return (
        f"{state.confirmed} of {number_of(len(stage.steps), 'step')} confirmed. "
        f"Group {group.number} of {len(stage.groups)}{name}."
    )


def _count_asked(state: State, stage: Stage) -> str:
    if state.mode is Mode.LEFT_OVER:
        return left_asked(stage.left_over[len(state.left)])
    if state.mode not in _TO_COUNT:
        return ""
    return f"How many {stage.asked}?"
