"""The choices read aloud one at a time, so that a single switch can give every command.

Each stands some seconds before the next is read, and a press takes it; or, where no seconds are
set, a press moves on, and a second call for the choices takes. What needs a number or a row of
shafts asks for it by counting up aloud, or by offering the likeliest first.

The likeliest are offered to a weaver whose numbers are not heard, too: after "no" at a count the
counts near to the plan; after "no" to doing all anew, the shafts as they would be felt from the
first end of the stretch on, until the place is known.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from companion.base.value import Value
from companion.command import Command, Kind
from companion.command.size import MOST_ENDS
from companion.guide.messages import COUNTED, ChoiceCall, Mode, NumberCall, OfferCall
from companion.guide.place import expected_so_far, likely_meaning, may_affirm, stretch
from companion.guide.refuse import choosable
from companion.guide.state import State
from companion.guide.terms import Message
from companion.guide.touch_check import planned
from companion.guide.walk import LEAST_FELT
from companion.job import Stage, threading_of

AT_ONCE: Final = 6
"""Choices in a round at most before the one that leads to more: some 20 seconds, our own choice."""
ROUNDS: Final = 2
"""How often the choices are read before they close by themselves."""
FIRST_ITEM_FACTOR: Final = 1.5
"""How much longer the first choice stands, so that nobody is taken by surprise. Our own choice."""
LEAST_COUNTED_TO: Final = 20
"""A count is counted up at least so far, and to twice what is planned."""
MOST_BY_ONES: Final = 20
"""Numbers up to here are counted by ones; beyond, digit by digit from the highest."""
_TEN: Final = 10
_SHIFTS: Final = (0, 1, -1, 2, -2)
NUMBERED: Final = frozenset(
    {Kind.COUNT, Kind.REWIND, Kind.SPARE, Kind.LACKING, Kind.AT_A_TIME, Kind.LOOK}
)
"""Commands that are none without a number."""
ANSWERS: Final = frozenset(
    {Kind.DONE, Kind.CHOICES, Kind.MORE_CHOICES, Kind.YES, Kind.NO, Kind.REPEAT}
)
"""What moves on among the choices, takes one, or has it said once more; all else ends them."""


class CommandChoice(Value):
    """A command to choose, and what else it needs."""

    kind: Kind
    limit: int = 0
    """The highest number it may be given; 0 where it needs none."""
    is_row: bool = False
    """Whether it takes the shafts that are felt, one after the other."""
    likely: tuple[int, ...] = ()
    """The numbers to offer, the likeliest first; of a row, the shafts as planned."""
    longest: int = 0
    """How many shafts there are to feel."""
    first_end: int = 0
    """The end from which on they are felt."""


class Choices(Value):
    """Choices being read, or a number being counted up for one of them."""

    items: tuple[CommandChoice, ...]
    at: int = 0
    """Which is said now, from 0."""
    rounds: int = 1
    """The present round, from 1."""
    rest: tuple[CommandChoice, ...] = ()
    """What "more choices", the last of a long row, leads to."""
    chosen: CommandChoice | None = None
    """The one a number is counted up for."""
    value: int = 0
    """What is taken of its number so far."""
    place: int = 1
    """What the digit being counted is worth: 100, 10 or 1."""
    row: tuple[int, ...] = ()
    """The shafts taken so far."""

    @property
    def numbers(self) -> tuple[int | None, ...]:
        """The numbers counted up now; None stands for "that is all" of a row."""
        if self.chosen is None:
            return ()
        if self.chosen.likely:
            return _shafts(self.chosen, self.row) if self.chosen.is_row else self.chosen.likely
        if self.chosen.is_row:
            all_of = tuple(range(1, self.chosen.limit + 1))
            return (*all_of, None) if self.row else all_of
        if self.chosen.limit <= MOST_BY_ONES:
            return tuple(range(self.chosen.limit + 1))
        most = min(_TEN - 1, (self.chosen.limit - self.value) // self.place)
        return tuple(digit * self.place for digit in range(most + 1))

    @property
    def is_first(self) -> bool:
        """Whether none of them, or of the numbers of one, was read before."""
        return not self.at and self.rounds == 1

    @property
    def call(self) -> Message:
        """What is said of the present one."""
        number = self.numbers[self.at] if self.numbers else None
        if self.chosen is None:
            item = self.items[self.at]
            return ChoiceCall(item.kind, item.is_row, self.is_first)
        if self.chosen.likely:
            is_first = self.is_first and not self.row
            return OfferCall(number or 0, self.chosen.is_row, is_first, self.chosen.first_end)
        return NumberCall(number)


def open_to(state: State, stage: Stage) -> Choices:
    """Return the choices among all that can be given now."""
    shafts = max((shaft for step in stage.steps for shaft in step.shafts), default=0)
    last = stage.steps[state.confirmed - 1] if state.confirmed else None
    limits = {
        Kind.COUNT: max(LEAST_COUNTED_TO, 2 * expected_so_far(state, stage)),
        Kind.REWIND: stage.number_of(last) if last else 0,
        Kind.SPARE: shafts,
        Kind.LACKING: shafts,
        Kind.AT_A_TIME: MOST_ENDS,
        Kind.LOOK: _last_begun(state, stage),
    }
    return opened(choosable(state, stage), limits, shafts if stage.counted == "end" else 0)


def _last_begun(state: State, stage: Stage) -> int:
    """Return the number of the last group that can be looked at, or 0."""
    looked = threading_of(stage)
    if not looked.has_shafts:
        return 0
    is_past = looked is not stage
    return sum(is_past or group.first_step <= state.confirmed for group in looked.groups)


def opened(kinds: Sequence[Kind], limits: dict[Kind, int], shafts: int) -> Choices:
    """Return the choices among these commands, the likeliest first.

    `limits` has the highest number for each that takes one; `shafts` are those in use where what
    is felt may be named, else 0.
    """
    items: list[CommandChoice] = []
    for kind in dict.fromkeys(kinds):
        limit = limits.get(kind, 0)
        if limit or kind not in NUMBERED:
            items.append(CommandChoice(kind, limit))
        if kind is Kind.COUNT and shafts:
            items.append(CommandChoice(kind, shafts, is_row=True))
    return _row_of(tuple(items))


def _row_of(items: tuple[CommandChoice, ...]) -> Choices:
    if len(items) <= AT_ONCE + 1:
        return Choices(items)
    return Choices((*items[:AT_ONCE], CommandChoice(Kind.MORE_CHOICES)), rest=items[AT_ONCE:])


def more(choices: Choices) -> Choices:
    """Return the choices that come after these; the same once more where there are none."""
    return _row_of(choices.rest) if choices.rest else replace(choices, at=0, rounds=1)


def offered(choice: CommandChoice) -> Choices:
    """Return the likely numbers of one choice, to be read at once."""
    return Choices((choice,), chosen=choice)


def moved_on(choices: Choices) -> Choices | None:
    """Return the choices with the next one said, or None where they have been read often enough."""
    length = len(choices.numbers) or len(choices.items)
    if choices.at + 1 < length:
        return replace(choices, at=choices.at + 1)
    return replace(choices, at=0, rounds=choices.rounds + 1) if choices.rounds < ROUNDS else None


def taken(choices: Choices) -> Choices | Command:
    """Return the command that the one just said gives, or the choices of its number."""
    chosen = choices.chosen
    if chosen is None:
        item = choices.items[choices.at]
        if item.kind is Kind.MORE_CHOICES:
            return more(choices)
        return _counting(choices, item) if item.limit else Command(item.kind)
    number = choices.numbers[choices.at]
    if chosen.is_row:
        return _row(choices, number)
    value = choices.value + (number or 0)
    if choices.place == 1:
        return Command(chosen.kind, value, numbers=(value,) if chosen.kind is Kind.COUNT else ())
    return replace(choices, value=value, place=choices.place // _TEN, at=0, rounds=1)


def answered(
    choices: Choices, kind: Kind, state: State, stage: Stage, *, is_by_press: bool
) -> Choices | Command | None:
    """Return what comes of one of the answers: others, the command taken, or None for no more."""
    if kind is Kind.REPEAT:
        return choices
    if kind is Kind.MORE_CHOICES:
        return more(choices)
    if kind is Kind.NO or (kind is Kind.DONE and is_by_press):
        return moved_on(choices)
    result = taken(choices)
    if isinstance(result, Choices) and result.chosen is not None and result.chosen.likely:
        return _unless_enough(result, state, stage)
    return result


def _counting(choices: Choices, item: CommandChoice) -> Choices:
    place = 1
    while not item.is_row and item.limit > MOST_BY_ONES and place * _TEN <= item.limit:
        place *= _TEN
    return replace(choices, chosen=item, place=place, at=0, rounds=1)


def _row(choices: Choices, shaft: int | None) -> Choices | Command:
    if shaft is None:
        return Command(Kind.COUNT, numbers=choices.row)
    row = (*choices.row, shaft)
    if choices.chosen is not None and len(row) == choices.chosen.longest:
        return Command(Kind.COUNT, numbers=row)
    return replace(choices, row=row, at=0, rounds=1)


def _shafts(chosen: CommandChoice, row: tuple[int, ...]) -> tuple[int, ...]:
    """Return every shaft, the one the plan has next first.

    After an end too few or too many the plan goes on a place farther or nearer, as the last shaft
    felt tells. Then come the shafts beside that place.
    """
    plan, place = chosen.likely, len(row)
    fits = (shift for shift in _SHIFTS if row and row[-1] == _at(plan, place - 1 + shift))
    begin = place + next(fits, 0)
    near = (_at(plan, begin + step) for step in (0, 1, -1))
    every = (*filter(None, near), *range(1, chosen.limit + 1))
    return tuple(dict.fromkeys(every))


def _at(plan: tuple[int, ...], place: int) -> int:
    """Return the planned shaft at a place, or 0 beyond the plan."""
    return plan[place] if 0 <= place < len(plan) else 0


MOST_APART: Final = 4
"""How far a count is offered beside the plan. Our own choice."""


def likely_numbers(state: State, kind: Kind, stage: Stage) -> Choices | None:
    """Return what to offer after a "no", or a "done" where a number is wanted; None for nothing."""
    asked = state.asked
    if kind is not Kind.NO and not (kind is Kind.DONE and _wants_number(state, stage)):
        return None
    if asked is Kind.MEND:
        return _shafts_to_feel(state, stage)
    is_open = asked is None and state.mode in COUNTED
    if asked is not Kind.COUNT and not is_open:
        return None
    number, told = expected_so_far(state, stage), state.count
    near = [number + apart for more in range(1, MOST_APART + 1) for apart in (-more, more)]
    counts = near if told in {None, number} else [told, *near]
    likely = list(dict.fromkeys(count for count in counts if count >= 0))
    # The plan's own number was told and denied; or it comes first, but not where it is not told.
    if asked is None and state.mode is not Mode.LEFT_OVER:
        likely.insert(2 if state.options.demand_counts else 0, number)
    return offered(CommandChoice(Kind.COUNT, likely=tuple(likely)))


def _wants_number(state: State, stage: Stage) -> bool:
    """Return whether a count is due that cannot be affirmed, or is to be taken once more."""
    if state.mode is Mode.HELD:
        return not state.is_explained
    return state.mode is Mode.COUNTING and not may_affirm(state, stage)


def _shafts_to_feel(state: State, stage: Stage) -> Choices | None:
    """Return the shafts to be felt where that may tell the place; None where it is known."""
    count = state.count or 0
    if count < LEAST_FELT or stage.counted != "end" or state.looking or _is_placed(state, stage):
        return None
    places = planned(stage, stretch(state, stage))
    plan = tuple(place.value for place in places)
    most = max(plan, default=0)
    row = CommandChoice(Kind.COUNT, most, True, plan, longest=count, first_end=places[0].number)
    return offered(row) if plan else None


def _unless_enough(choices: Choices, state: State, stage: Stage) -> Choices | Command:
    """Return the row so far as it is told once it tells the one likely place of what is wrong."""
    felt = replace(state, felt_wrong=choices.row)
    is_known = len(choices.row) >= LEAST_FELT and _is_placed(felt, stage)
    is_enough = is_known and len(likely_meaning(felt, stage).diagnoses) == 1
    return Command(Kind.COUNT, numbers=choices.row) if is_enough else choices


def _is_placed(state: State, stage: Stage) -> bool:
    diagnoses = likely_meaning(state, stage).diagnoses
    return bool(diagnoses) and diagnoses[0].is_placed
