"""What stands on a page in large type: the present step as lines, or one short headline."""

from collections.abc import Callable, Iterator
from typing import Any, Final, Literal, NamedTuple

from companion.base.text import capital, counted, from_to, noun_for, sentence, span
from companion.guide import messages as m
from companion.guide.events import Paused
from companion.guide.mend_messages import LeftQuestion, MendQuestion, MendStep
from companion.guide.terms import Message
from companion.wording.callouts import parts
from companion.wording.mending import task_words
from companion.wording.notes import step_note
from companion.wording.stages import count_asked
from companion.wording.ways import before_steps

Rank = Literal["name", "wanted", "also"]


class ShownLine(NamedTuple):
    """One line of the present step."""

    name: str
    """"Shaft"."""
    value: str
    """"1"; "" where the name is all."""
    rank: Rank
    """Whether it names the step, is what the hands need now, or comes with it."""


def lines(message: m.StepCall) -> tuple[ShownLine, ...]:
    """Return the steps in hand as lines; what is not of ends, shafts and dents has none."""
    steps = message.steps
    dents = tuple(dent for step in steps for dent in step.dents)
    if steps[0].is_floating:
        return ShownLine("Floating selvedge", "", "name"), *_line("dent", dents, "wanted")
    # Two doubled ends have one heddle.
    heddles = (step.shafts[:1] if step.is_doubled else step.shafts for step in steps)
    shafts = tuple(shaft for held in heddles for shaft in held)
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
    told = _HEADLINES.get(type(message))
    return told(message) if told else ""


def _of_steps(message: m.StepCall) -> str:
    return "" if lines(message) else sentence(str(parts(message.steps, message.stage)))


def _of_rewind(message: m.RewindQuestion) -> str:
    ends = span("end", message.step.first_end, message.step.last_end)
    return f"Back to {ends}?" if message.step.first_end else "Back there?"


def _of_left(message: LeftQuestion) -> str:
    shaft = message.left.shaft
    return f"Shaft {shaft}: heddles left?" if shaft else "Dents left empty?"


def _of_count(message: m.CountQuestion) -> str:
    asked = count_asked(message.stage, is_threaded=message.is_threaded)
    return "How many so far?" if message.is_so_far else asked


def _of_wrong_count(message: m.Hold) -> str:
    number = counted(message.count, message.stage.counted)
    is_right = message.count == message.expected
    return f"{number}, but felt wrong" if is_right else f"{number}, {message.expected} planned"


_HEADLINES: Final[dict[type, Callable[[Any], str]]] = {
    m.StepCall: _of_steps,
    MendStep: lambda message: task_words(message.task),
    m.Hold: _of_wrong_count,
    Paused: lambda _: "Resting",
    m.Finished: lambda _: "Complete",
    m.RewindQuestion: _of_rewind,
    m.PlanQuestion: lambda _: "Follow it?",
    m.EdgeQuestion: lambda _: "Go on like that?",
    LeftQuestion: _of_left,
    m.CountQuestion: _of_count,
    m.AffirmQuestion: lambda message: f"Are there {message.expected}?",
    m.CatchUpQuestion: lambda message: f"Are {message.count} done?",
    m.AcceptQuestion: lambda message: (
        f"Let {message.count} stand?" if message.count != message.expected else "Let it stand?"
    ),
    MendQuestion: lambda _: "Mend it this way?",
    m.LeaveQuestion: lambda _: "Stop here?",
    m.LookQuestion: lambda message: f"Looking at group {message.group.number}",
    m.WhichGroup: lambda _: "Look at a group",
}


def beside(message: Message) -> tuple[str, ...]:
    """Return what comes with lines or a headline, each a sentence; () where all is to be said."""
    match message:
        case m.StepCall():
            reading = ("Reading back.",) if message.is_read_back else ()
            return (*reading, *_about(message))
        case MendStep():
            return (f"Mending: step {message.number} of {message.steps}.",)
        case m.CountQuestion():
            so_far = "is not complete yet" if message.is_so_far else "is complete"
            return (f"Group {message.group.number} {so_far}.",)
        case m.LeaveQuestion():
            return ("Your place is kept.",)
    return ()


def _about(message: m.StepCall) -> Iterator[str]:
    yield from before_steps(message.steps, message.stage.dressing)
    for step in message.steps:
        if step.empty_dents:
            before = f" before dent {step.dents[0]}" if step is not message.step else ""
            yield f"Leave {counted(step.empty_dents, 'dent')} empty{before}."
        if step.is_floating:
            yield "In the reed alone."
        if step.is_doubled:
            yield f"{capital(span('end', step.first_end, step.last_end))} in one heddle."
    for each in message.named:
        beam = f"beam {each.beam}" if each.beam else ""
        unit = f"{each.unit}, unit {each.unit_number}" if each.unit else ""
        yield from (sentence(name) for name in (each.colour, beam, unit) if name)
    yield from (note for step in message.steps if (note := step_note(step, message.stage)))
