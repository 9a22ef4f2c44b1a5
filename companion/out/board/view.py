"""What the board shows of a walk, as plain values for the page."""

from typing import Any

from companion.base.text import sentence
from companion.base.value import Value
from companion.command import Kind, spoken_form
from companion.guide.choices import NUMBERED
from companion.guide.messages import Hold, Mode, StepCall
from companion.guide.place import present
from companion.guide.refuse import fitting
from companion.guide.state import State
from companion.guide.terms import Message
from companion.job import PASSES, Stage
from companion.out.board.strip import progress, shown_stage, strip
from companion.wording import Style, render
from companion.wording.callouts import describe
from companion.wording.checks import after_difference
from companion.wording.shown import ShownLine, beside, headline, lines
from companion.wording.stages import title


class WalkView(Value):
    """One moment of the walk."""

    stage: str
    """What is being walked, "threading and sleying"."""
    mode: str
    """A value of `Mode`."""
    lines: tuple[ShownLine, ...]
    """The present step, or the one being read back; () where something else is awaited."""
    headline: str
    """What is awaited, in a few words; "" where the lines say it."""
    detail: str
    """The rest: what comes with a step, or all that is known about a question."""
    told: str
    """The whole of what is asked or found, as it is said; "" for a step."""
    before: str
    """The step before those in hand, in words; "" at the first, and where none is in hand."""
    after: str
    """The step after, in words; "" likewise."""
    keys: dict[str, str]
    """The commands that fit now, the likeliest first, each with its words; "" for one that takes a
    number."""
    size: str
    """How much one callout takes in hand: "1" to "24", "unit", "dent" or "group"."""
    telling: str
    """What it tells of each end: "all", "short" or "shafts"."""
    is_by_foot: bool
    """Whether feet are on treadles, so that no foot pedal is pressed."""
    has_shafts: bool
    """Whether shafts can be named by touch."""
    strip: dict[str, Any] | None
    progress: dict[str, Any]

    def as_values(self) -> dict[str, Any]:
        """Return the fields by their names, ready for JSON."""
        return dict(self.__dict__)


def view_of(state: State, stage: Stage, language: str) -> WalkView:
    """Return what the board shows; the language is of the words that answer a question."""
    message = present(state, stage)
    hand = message.steps if isinstance(message, StepCall) else ()
    style = Style("words", language)
    told = "" if hand else render(message, style).text
    return WalkView(
        stage=title(stage),
        mode=state.mode,
        lines=lines(message) if isinstance(message, StepCall) else (),
        headline=headline(message),
        detail=_detail(message, told, style),
        told=told,
        before=_neighbour(stage, hand[0].number - 1) if hand else "",
        after=_neighbour(stage, hand[-1].number + 1) if hand else "",
        keys={kind: "" if kind in NUMBERED else spoken_form(kind) for kind in _keys(state, stage)},
        size=str(state.options.size),
        telling=state.options.detail,
        is_by_foot=stage.is_by_foot,
        has_shafts=shown_stage(state, stage).has_shafts,
        strip=strip(state, stage, hand),
        progress=progress(state, stage),
    )


def _keys(state: State, stage: Stage) -> tuple[Kind, ...]:
    """Return the commands that fit, and what a device without a voice could give nowhere else."""
    if state.mode is not Mode.WALKING:
        return fitting(state, stage)
    edge = (Kind.WRONG_EDGE,) if stage.name in PASSES else ()
    whole = () if state.confirmed else (Kind.TELL_ALL,)
    return (*fitting(state, stage), *whole, Kind.CAUTIONS, Kind.NEW_PLAN, *edge)


def _detail(message: Message, told: str, style: Style) -> str:
    about = beside(message)
    if about or isinstance(message, StepCall):
        return " ".join(about)
    if isinstance(message, Hold):  # the difference stands large already
        return after_difference(message, style)
    return told


def _neighbour(stage: Stage, number: int) -> str:
    step = stage.steps[number - 1] if 1 <= number <= len(stage.steps) else None
    return sentence(describe(step, stage)) if step else ""
