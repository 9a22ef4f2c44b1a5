"""What stands on a page in large type: the present step as lines, or one short headline."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from companion.base.text import capital, counted, from_to, noun_for, sentence, span
from companion.guide.events import Paused
from companion.guide.mend_messages import LeftQuestion, MendQuestion, MendStep
from companion.guide.messages import (
    AcceptQuestion,
    AffirmQuestion,
    CountQuestion,
    EdgeQuestion,
    Finished,
    Hold,
    LeaveQuestion,
    Miscount,
    PlanQuestion,
    ReadStep,
    RewindQuestion,
    StepCall,
)
from companion.wording.callouts import parts
from companion.wording.mending import task_words
from companion.wording.notes import step_note
from companion.wording.stages import count_asked
from companion.wording.threading_order import before_step

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.guide.messages import Named
    from companion.guide.terms import Message
    from companion.job import Step

Rank = Literal["name", "wanted", "also"]


class ShownLine(NamedTuple):
    """One line of the present step."""

    name: str
    """"Shaft"."""
    value: str
    """"1"; "" where the name is all."""
    rank: Rank
    """Whether it names the step, is what the hands need now, or comes with it."""


def lines(message: StepCall) -> tuple[ShownLine, ...]:
    """Return the steps in hand as lines; what is not of ends, shafts and dents has none."""
    steps = message.steps
    dents = tuple(dent for step in steps for dent in step.dents)
    if steps[0].is_floating:
        return ShownLine("Floating selvedge", "", "name"), *_line("dent", dents, "wanted")
    shafts = tuple(shaft for step in steps for shaft in _heddles(step))
    if not shafts:
        return ()
    ends = _line("end", tuple(range(steps[0].first_end, steps[-1].last_end + 1)), "name")
    if message.stage.counted == "dent":
        return (
            *_line("dent", dents, "name"),
            *(each._replace(rank="wanted") for each in ends),
            *_line("shaft", shafts, "also"),
        )
    return *ends, *_line("shaft", shafts, "wanted"), *_line("dent", dents, "also")


def _heddles(step: Step) -> tuple[int, ...]:
    """Return the shaft of each heddle of a step: two doubled ends have one."""
    return step.shafts[:1] if step.is_doubled else step.shafts


def _line(noun: str, numbers: tuple[int, ...], rank: Rank) -> tuple[ShownLine, ...]:
    """Return numbers as a line: one, a run, or each as it comes; none is no line."""
    if not numbers:
        return ()
    first, last = numbers[0], numbers[-1]
    way = 1 if first <= last else -1
    is_run = noun != "shaft" and numbers == tuple(range(first, last + way, way))
    is_one = is_run or set(numbers) == {first}
    value = from_to(first, last) if is_one else ", ".join(map(str, numbers))
    return (ShownLine(noun_for(len(set(numbers)), noun).capitalize(), value, rank),)


def headline(message: Message) -> str:
    """Return in a few words what is awaited; "" where lines say it, or where there are none."""
    match message:
        case StepCall():
            is_said = not lines(message)
            return sentence(str(parts(message.steps, message.stage))) if is_said else ""
        case MendStep(task):
            return task_words(task)
        case Miscount() | Hold():
            number = counted(message.count, message.stage.counted)
            return f"{number}, {message.expected} planned"
        case Paused():
            return "Resting"
        case Finished():
            return "Complete"
    return _question(message)


def _question(message: Message) -> str:
    if isinstance(message, RewindQuestion):
        ends = span("end", message.step.first_end, message.step.last_end)
        return f"Back to {ends}?" if message.step.first_end else "Back there?"
    if isinstance(message, (PlanQuestion, EdgeQuestion)):
        return "Follow it?" if isinstance(message, PlanQuestion) else "Go on like that?"
    if isinstance(message, LeftQuestion):
        shaft = message.left.shaft
        return f"Shaft {shaft}: heddles left?" if shaft else "Dents left empty?"
    return _count_or_mend(message)


def _count_or_mend(message: Message) -> str:
    match message:
        case CountQuestion():
            return "How many so far?" if message.is_so_far else count_asked(message.stage)
        case AffirmQuestion():
            return f"Are there {message.expected}?"
        case AcceptQuestion():
            return f"Let {message.count} stand?"
        case MendQuestion():
            return "Mend it this way?"
        case LeaveQuestion():
            return "Stop here?"
    return ""


def beside(message: Message) -> tuple[str, ...]:
    """Return what comes with lines or a headline, each a sentence; () where all is to be said."""
    match message:
        case ReadStep():
            return ("Reading back.", *_about(message))
        case StepCall():
            return tuple(_about(message))
        case MendStep():
            return (f"Mending: step {message.number} of {message.steps}.",)
        case CountQuestion():
            so_far = "is not complete yet" if message.is_so_far else "is complete"
            return (f"Group {message.group.number} {so_far}.",)
        case LeaveQuestion():
            return ("Your place is kept.",)
    return ()


def _about(message: StepCall) -> Iterator[str]:
    for step in message.steps:
        yield from before_step(step, message.stage.dressing)
        if step.empty_dents:
            before = f" before dent {step.dents[0]}" if step is not message.step else ""
            yield f"Leave {counted(step.empty_dents, 'dent')} empty{before}."
        if step.is_floating:
            yield "In the reed alone."
        if step.is_doubled:
            yield f"{capital(span('end', step.first_end, step.last_end))} in one heddle."
    for each in message.named:
        beam = f"beam {each.beam}" if each.beam else ""
        yield from (sentence(name) for name in (each.colour, beam, _unit(each)) if name)
    yield from (note for step in message.steps if (note := step_note(step, message.stage)))


def _unit(named: Named) -> str:
    return f"{named.unit}, unit {named.unit_number}" if named.unit else ""
