"""What the board shows of a walk, as plain values for the page."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from companion.base.text import counted, sentence
from companion.guide.messages import Mode, ReadStep, StepCall
from companion.guide.place import present, present_group
from companion.wording import Style, notices, render
from companion.wording.mending import left_asked
from companion.wording.notes import step_note
from companion.wording.stages import count_asked, group_title, title
from companion.wording.steps import around, describe, parts

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
        stage=title(stage),
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
    name, what = parts(message.steps, stage)
    notes = (step_note(step, stage) for step in message.steps)
    beside = [*around(message), *notes]
    return (
        name[:1].upper() + name[1:],
        what[:1].upper() + what[1:],
        " ".join(part for part in beside if part),
    )


def _neighbour(stage: Stage, number: int) -> str:
    step: Step | None = stage.steps[number - 1] if 1 <= number <= len(stage.steps) else None
    return sentence(describe(step, stage)) if step else ""


def _progress(state: State, stage: Stage) -> str:
    group = sentence(group_title(present_group(state, stage), stage))
    return f"{state.confirmed} of {counted(len(stage.steps), 'step')} confirmed. {group}"


def _count_asked(state: State, stage: Stage) -> str:
    if state.mode is Mode.LEFT_OVER:
        return left_asked(stage.left_over[len(state.left)])
    if state.mode not in _TO_COUNT:
        return ""
    return count_asked(stage)
