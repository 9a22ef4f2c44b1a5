"""The choices as they are read to a weaver with one switch: by themselves, or press by press."""

from collections.abc import Callable
from typing import Final

from companion.command import Command, Kind
from companion.command.size import MOST_ENDS
from companion.guide.choices import Choices, more, moved_on, opened, taken
from companion.guide.messages import ChoiceCall, ChoicesClosed, NumberCall, OfferCall
from companion.guide.place import expected_so_far
from companion.guide.refuse import choosable
from companion.guide.state import State
from companion.guide.terms import Message
from companion.job import Stage, threading_of

FIRST_ITEM_FACTOR: Final = 1.5
"""How much longer the first choice stands, so that nobody is taken by surprise. Our own choice."""
_ANSWERS: Final = frozenset(
    {Kind.DONE, Kind.CHOICES, Kind.MORE_CHOICES, Kind.YES, Kind.NO, Kind.REPEAT}
)
"""What moves on among the choices, takes one, or has it said once more."""
LEAST_COUNTED_TO: Final = 20
"""A count is counted up at least so far, and to twice what is planned."""


def _last_begun(state: State, stage: Stage) -> int:
    """Return the number of the last group that can be looked at, or 0."""
    looked = threading_of(stage)
    if not looked.has_shafts:
        return 0
    is_past = looked is not stage
    return sum(is_past or group.first_step <= state.confirmed for group in looked.groups)


class Scanner:
    """Keeps the choices that are being read, if any.

    Each stands some seconds before the next is read, and a press takes it; with 0 a press moves
    on, and a second call for the choices takes.
    """

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self.choices: Choices | None = None
        """Those that are being read, if any."""
        self._is_enough: Callable[[tuple[int, ...]], bool] = lambda _row: False

    @property
    def is_by_press(self) -> bool:
        """Whether a press moves on."""
        return not self._seconds

    def open(self, state: State, stage: Stage) -> Message:
        """Begin with the first choice."""
        shafts = {shaft for step in stage.steps for shaft in step.shafts}
        last = stage.steps[state.confirmed - 1] if state.confirmed else None
        limits = {
            Kind.COUNT: max(LEAST_COUNTED_TO, 2 * expected_so_far(state, stage)),
            Kind.REWIND: stage.number_of(last) if last else 0,
            Kind.SPARE: max(shafts, default=0),
            Kind.LACKING: max(shafts, default=0),
            Kind.AT_A_TIME: MOST_ENDS,
            Kind.LOOK: _last_begun(state, stage),
        }
        felt = max(shafts, default=0) if stage.counted == "end" else 0
        return self._read(opened(choosable(state, stage), limits, felt))

    def offer(self, choices: Choices, is_enough: Callable[[tuple[int, ...]], bool]) -> Message:
        """Begin with the likeliest number; a row of shafts is over once it `is_enough`."""
        self._is_enough = is_enough
        return self._read(choices)

    def tick(self, quiet_seconds: float) -> Message | None:
        """Return the next choice once the last has stood long enough, or that they are closed."""
        choices = self.choices
        if choices is None or not self._seconds:
            return None
        is_first = not choices.at and choices.rounds == 1
        factor = FIRST_ITEM_FACTOR if is_first else 1.0
        return self._move_on(choices) if quiet_seconds >= factor * self._seconds else None

    def given(self, kind: Kind) -> Command | Message | None:
        """Take a command while choices are read; None where it is none of theirs, and ends them."""
        choices = self.choices
        if choices is None or kind not in _ANSWERS:
            self.choices = None
            return None
        if kind is Kind.REPEAT:
            return self._read(choices)
        if kind is Kind.MORE_CHOICES:
            return self._read(more(choices))
        if kind is Kind.NO or (kind is Kind.DONE and not self._seconds):
            return self._move_on(choices)
        result = taken(choices)
        if isinstance(result, Choices) and self._is_enough(result.row):
            result = Command(Kind.COUNT, numbers=result.row)
        if isinstance(result, Choices):
            return self._read(result)
        self.choices = None
        return result

    def _move_on(self, choices: Choices) -> Message:
        following = moved_on(choices)
        if following is not None:
            return self._read(following)
        self.choices = None
        return ChoicesClosed()

    def _read(self, choices: Choices) -> Message:
        """Keep these, and return what is said of the present one."""
        self.choices = choices
        number = choices.numbers[choices.at] if choices.numbers else None
        if choices.chosen is not None and choices.chosen.likely:
            is_first = (choices.at, choices.rounds, choices.row) == (0, 1, ())
            of = choices.chosen
            return OfferCall(number or 0, of.is_row, is_first=is_first, first_end=of.first_end)
        if choices.chosen is not None:
            return NumberCall(number)
        item = choices.items[choices.at]
        is_first = not choices.at and choices.rounds == 1
        return ChoiceCall(item.kind, item.is_row, is_first=is_first)
