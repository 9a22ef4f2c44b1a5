"""The callouts of ends, shafts and dents: one end or many, in three details.

Every callout can be taken apart again by ear: what it tells comes as ends, then shafts, then
dents, each under its own word, and a part that belongs to another unit or colour is a sentence
of its own under that name.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Final, NamedTuple

from companion.base.text import breaths, counted, noun_for, sentence, span
from companion.command.size import Detail
from companion.guide.messages import Named, StepCall
from companion.job import Stage, Step
from companion.job.contents import Pick
from companion.wording.contents import Told
from companion.wording.contents import told as told_content
from companion.wording.notes import step_note
from companion.wording.voice import Style
from companion.wording.ways import before_steps
from companion.wording.weaving import has_colours, picks_told

_HUNDRED: Final = 100
_PAIR: Final = 2


def step_call(message: StepCall, _style: Style) -> str:
    """Return the callout of the steps in hand, or of steps read back.

    Steps before the first that is named belong to what was named last.
    """
    steps, detail = message.steps, message.detail
    stage = in_reed(message.stage) if message.is_threaded else message.stage
    is_whole = detail == "all" and stage.counted == "pick" and has_colours(stage)
    dent_before = message.dent_before if detail == "short" else 0
    edges = sorted({0, *(name.at for name in message.named)})
    said = [*_from_cross(message), *before_steps(steps, stage.dressing)]
    for first, last in zip(edges, [*edges[1:], len(steps)], strict=True):
        names = [
            text
            for name in message.named
            if name.at == first
            for text in _names(replace(name, colour="") if is_whole else name, detail)
        ]
        part = _Part(steps[first:last], stage, detail, bool(names))
        said += [*names, *part.sentences(dent_before)]
        if dent_before:
            dents = [dent for step in part.steps for dent in step.dents]
            dent_before = dents[-1] if dents else dent_before
    return " ".join(said)


def _from_cross(message: StepCall) -> Iterator[str]:
    if message.is_from_cross:
        ends = sum(step.ends for step in message.steps)
        taken = "the next end" if ends == 1 else f"the next {counted(ends, 'end')}"
        yield f"Take {taken} from the cross."


def in_reed(stage: Stage) -> Stage:
    """Return a stage to be told as sleying, where its ends hang in their heddles already."""
    return replace(stage, counted="dent")


def describe(step: Step, stage: Stage) -> str:
    """Return a step in the words of its stage, "end 37: shaft 1, dent 37"."""
    return str(parts([step], stage))


def parts(steps: Sequence[Step], stage: Stage) -> Told:
    """Return all there is to tell of steps: what they handle, and what to do with it."""
    return _Part(steps, stage, "all", is_named=False).told(0)


def _names(name: Named, detail: Detail) -> Iterator[str]:
    """Yield the sentences that name a unit and a colour; in short, only what is new."""
    number = f"unit {name.unit_number}" if name.unit_number > 1 and detail == "all" else ""
    own = name.unit if name.is_new_unit_name else ""
    if own or number:
        yield sentence(", ".join(part for part in (own, number) if part))
    if name.other_colour:
        yield sentence(f"{name.colour} and {name.other_colour} by turns")
    elif name.colour and name.beam and not name.other_beam:
        yield sentence(f"{name.colour}, beam {name.beam}")
        return
    elif name.colour:
        yield sentence(name.colour)
    if name.other_beam:
        yield f"Beams {name.beam} and {name.other_beam} by turns."
    elif name.beam:
        yield f"Beam {name.beam}."


class _Part(NamedTuple):
    """Steps told under one name."""

    steps: Sequence[Step]
    stage: Stage
    detail: Detail
    is_named: bool

    def sentences(self, dent_before: int) -> Iterator[str]:
        first = self.steps[0]
        if first.empty_dents and self.detail == "all":
            yield f"Leave {counted(first.empty_dents, 'dent')} empty."
        yield sentence(str(self.told(dent_before)))
        yield from (note for step in self.steps if (note := step_note(step, self.stage)))

    def told(self, dent_before: int) -> Told:
        first = self.steps[0]
        if first.is_floating:
            return _floating(first, self.detail, dent_before)
        if not first.shafts:
            return self._without_shafts()
        if self.detail == "shafts":
            return Told("", self._bare_shafts())
        if len(self.steps) == 1:
            return self._single(first, dent_before)
        ends = span("end", first.first_end, self.steps[-1].last_end)
        placed = _placed(self.steps, dent_before, self.is_sleying)
        return Told("" if self.detail == "short" else ends, placed)

    def _without_shafts(self) -> Told:
        first = self.steps[0]
        if isinstance(first.content, Pick):
            return picks_told(self.steps, self.stage, self.detail)
        if len(self.steps) > 1:
            return Told("", span("end", first.first_end, self.steps[-1].last_end))
        return told_content(first, self.stage)

    @property
    def is_sleying(self) -> bool:
        return self.stage.counted == "dent"

    def _bare_shafts(self) -> str:
        """Return the shafts alone; after a name the word tells where their numbers begin."""
        if self.is_named:
            return _shafts(self.steps, self.is_sleying)
        return _in_breaths(_shaft_numbers(self.steps, self.is_sleying))

    def _single(self, step: Step, dent_before: int) -> Told:
        shafts, dents = _shafts([step], self.is_sleying), _dents(step.dents, dent_before)
        ends = span("end", step.first_end, step.last_end)
        is_short = self.detail == "short"
        if self.is_sleying:
            return Told(dents, shafts if is_short else f"{ends}, {shafts}")
        if step.is_doubled and not is_short:
            shafts = f"shaft {step.shafts[0]}"
            ends = f"{ends} in one heddle"
        return Told("" if is_short else ends, f"{shafts}, {dents}" if dents else shafts)


def _floating(step: Step, detail: Detail, dent_before: int) -> Told:
    if detail == "shafts":
        return Told("", "floating selvedge, no heddle")
    return Told("floating selvedge", f"{_dents(step.dents, dent_before)}, no heddle")


def _shafts(steps: Sequence[Step], is_sleying: bool) -> str:  # noqa: FBT001 - internal
    """Return "shaft 1" or "shafts 1, 2, 3, 4; 1, 2"."""
    numbers = _shaft_numbers(steps, is_sleying)
    return f"{noun_for(len(numbers), 'shaft')} {_in_breaths(numbers)}"


def _in_breaths(numbers: Sequence[str]) -> str:
    return "; ".join(map(", ".join, breaths(numbers)))


def _shaft_numbers(steps: Sequence[Step], is_sleying: bool) -> list[str]:  # noqa: FBT001 - internal
    """Return the shaft of each end, with two ends of one heddle as one number."""
    listed: list[str] = []
    for step in steps:
        if step.is_doubled and not is_sleying:
            listed.append(f"{step.shafts[0]} doubled")
        else:
            listed += map(str, step.shafts)
    return listed


def _placed(steps: Sequence[Step], dent_before: int, is_sleying: bool) -> str:  # noqa: FBT001
    """Return shafts with their dents: in one range where each holds as many, else dent by dent."""
    dents = [dent for step in steps for dent in step.dents]
    shafts = _shafts(steps, is_sleying)
    if not dents:
        return shafts
    held = [len(list(ends)) for _, ends in groupby(dents)]
    is_run = abs(dents[-1] - dents[0]) == len(held) - 1
    if len(held) == 1:
        return f"{shafts}, {_dents(dents, dent_before)}"
    if is_run and len(set(held)) == 1:
        each = f", {held[0]} in each" if held[0] > 1 else ""
        return f"{shafts}, {_dents(dents, dent_before)}{each}"
    # A heddle whose two ends part at the reed stands alone.
    by_dent = groupby(steps, key=lambda step: tuple(dict.fromkeys(step.dents)))
    return "; ".join(
        f"{_shafts(list(together), is_sleying)}, {_dents(told, dent_before)}"
        for told, together in by_dent
    )


def _dents(dents: Sequence[int], dent_before: int) -> str:
    """Return "dent 37" or "dents 37 to 40"; without the hundreds where the ear knows them."""
    if not dents:
        return ""
    first, last = dents[0], dents[-1]
    is_pair = len(set(dents)) == _PAIR and last != first + 1
    hundreds = dent_before - dent_before % _HUNDRED
    is_known = hundreds and min(dents) > hundreds and max(dents) < hundreds + _HUNDRED
    off = hundreds if is_known else 0
    if is_pair:
        return f"dents {first - off} and {last - off}"
    return span("dent", first - off, last - off)
