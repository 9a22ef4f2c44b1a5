"""Stages for the tests of the guide and its callouts: small by hand, any shape by hypothesis."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from hypothesis import strategies as st

from companion.command import Command, Kind
from companion.command.size import DETAILS, read_size
from companion.guide import Options
from companion.job import Danger, Stage, StageName, Step, StepGroup
from companion.job.contents import Note
from companion.job.step_builder import in_groups
from companion.loom.dressing import Dressing, End, Group, GroupName, RaddlePlan, ShaftHeddles, Sley
from companion.plan.draft.draft import Draft, Unit
from companion.record import Journal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path


class Made(NamedTuple):
    """What a made-up step handles."""

    shafts: tuple[int, ...]
    """None of them makes a floating selvedge."""
    unit: int = 0
    colour: str = ""
    empty_dents: int = 0
    is_doubled: bool = False


def make_stage(
    name: StageName,
    groups: Sequence[tuple[str, Sequence[Made]]],
    unit_names: tuple[str, ...] = ("",),
) -> Stage:
    """Return a stage of these groups; every end of a stage with the reed has a dent of its own,
    but when sleying, where a step is a dent."""
    steps: list[Step] = []
    made_groups: list[StepGroup] = []
    end, dent, colour = 0, 0, ""
    for number, (title, members) in enumerate(groups, start=1):
        first = len(steps) + 1
        for made in members:
            dent += made.empty_dents
            size = len(made.shafts)
            used = 1 if name == "sley" else max(1, size)
            dents = [dent + 1 + (0 if used == 1 else place) for place in range(max(1, size))]
            steps.append(
                Step(
                    number=len(steps) + 1,
                    first_end=end + 1 if size else 0,
                    last_end=end + size,
                    shafts=made.shafts,
                    dents=() if name == "thread" else tuple(dents),
                    empty_dents=0 if name == "thread" else made.empty_dents,
                    colour=made.colour,
                    is_new_colour=made.colour not in ("", colour),
                    group=number,
                    unit=made.unit if size else -1,
                    is_floating=not size,
                    is_doubled=made.is_doubled,
                    amount=1 if name == "sley" else size,
                )
                if size
                else floating(len(steps) + 1, tuple(dents), number, name)
            )
            end, dent, colour = end + size, dent + used, made.colour
        counted = len if name == "sley" else ends_in
        made_groups.append(
            StepGroup(number, GroupName(title), first, len(steps), counted(steps[first - 1 :]))
        )
    return Stage(
        name,
        "dent" if name == "sley" else "end",
        tuple(steps),
        tuple(made_groups),
        dressing_of(steps),
        unit_names,
    )


def dressing_of(steps: Sequence[Step]) -> Dressing:
    """Return the dressed loom that made-up steps come to, with no heddles counted and room in the
    reed on both sides."""
    ends = tuple(_ends(steps))
    first_of = {end.place: end for end in reversed(ends)}
    threaded = [step for step in steps if step.shafts]
    runs = (list(run) for _, run in groupby(threaded, key=lambda step: step.unit))
    units = [
        Unit(
            "",
            number,
            1,
            ends[run[0].first_end - 1].place,
            ends[run[-1].last_end - 1].place,
        )
        for number, run in enumerate(runs, start=1)
    ]
    grouped = [(group, list(held)) for group, held in groupby(ends, key=lambda end: end.group)]
    heddles = Counter(end.shaft for end in first_of.values())
    return Dressing(
        title="made up",
        ends=ends,
        groups=tuple(
            Group(group, GroupName(), held[0].number, held[-1].number) for group, held in grouped
        ),
        sley=Sley((1,), counts_of(steps), 0, 2, 1, 1, 1000, Fraction(1)),
        heddles=tuple(
            ShaftHeddles(shaft, number, number, 0, None)
            for shaft, number in sorted(heddles.items())
        ),
        raddle=None,
        draft=Draft(
            tuple(first_of[place].shaft for place in sorted(first_of)),
            tuple(first_of[place].colour for place in sorted(first_of)),
            tuple(units),
        ),
        sett=Fraction(10),
        dents_per_inch=Fraction(10),
        units="inch",
        first_end="right",
        method="back-to-front",
        passes="together",
        shaft_one="front",
        loom_kind=None,
        notes=(),
    )


def _ends(steps: Sequence[Step]) -> Iterator[End]:
    place = 0
    for step in steps:
        for number, shaft in enumerate(step.shafts):
            place += not (step.is_doubled and number)
            dent = step.dents[min(number, len(step.dents) - 1)] if step.dents else 0
            yield End(step.first_end + number, shaft, place, dent, step.colour, step.group)


def counts_of(steps: Sequence[Step]) -> tuple[int, ...]:
    """Return the ends in every dent up to the last one used."""
    held = Counter(dent for step in steps for dent in step.dents)
    return tuple(held[dent] for dent in range(1, max(held, default=0) + 1))


def floating(number: int, dents: tuple[int, ...], group: int, name: StageName) -> Step:
    """Return the step of a floating selvedge, which is a dent but no end in a heddle."""
    amount = 1 if name == "sley" else 0
    return Step(number, 0, 0, (), dents, 0, "", False, group, -1, True, amount=amount)


def ends_in(steps: Sequence[Step]) -> int:
    """Return the ends in heddles."""
    return sum(len(step.shafts) for step in steps)


def straight(groups: int = 3, length: int = 4, name: StageName = "thread-and-sley") -> Stage:
    """Return a straight draw: a repeat a group, an end a step, the first group white, then blue."""
    return make_stage(
        name,
        [
            (
                f"repeat {number + 1}",
                [
                    Made((place % 4 + 1,), number, "white" if number == 0 else "blue")
                    for place in range(length)
                ],
            )
            for number in range(groups)
        ],
        tuple(f"block {'AB'[number % 2]}" for number in range(groups)),
    )


SIZES = st.integers(1, 12)
SHAFTS = st.lists(st.integers(1, 12), min_size=1, max_size=4).map(tuple)
WORDS = st.sampled_from(["", "block A", "rosepath", "white", "sea green", "border"])


@st.composite
def sections(draw: st.DrawFn, words: st.SearchStrategy[str] = WORDS) -> Stage:
    """Draw a stage of sections, with groups that hold something to count or nothing, and that
    holds the walk on a wrong count or only warns."""
    notes = st.sampled_from(
        [(), (Note.CENTRE_IN_SECTION,), (Note.CENTRE_AFTER_SECTION,), (Note.ALL_SECTIONS,)]
    )
    # Of a named tuple itself `builds` would draw every field, whatever its default.
    step = st.tuples(words, notes).map(lambda drawn: Step(colour=drawn[0], notes=drawn[1]))
    filled = st.builds(lambda step, last: step._replace(first_end=1, last_end=last), step, SIZES)
    empty = step.map(lambda step: step._replace(amount=0))
    members = st.lists(filled, min_size=1, max_size=5) | st.lists(empty, min_size=1, max_size=3)
    steps, groups = in_groups(draw(st.lists(members, min_size=1, max_size=4)))
    empty_before = draw(st.sampled_from([None, 0, 3]))
    plan = RaddlePlan(
        tuple(step.ends for step in steps), empty_before, empty_before, (len(steps) + 1) // 2
    )
    return Stage(
        "raddle",
        "section",
        steps,
        groups,
        replace(dressing_of(()), raddle=plan),
        item=draw(st.sampled_from(["section", "treadle"])),
        danger=draw(st.sampled_from([None, *Danger])),
        only_warns=draw(st.booleans()),
    )


def stages(words: st.SearchStrategy[str] = WORDS) -> st.SearchStrategy[Stage]:
    """Draw a stage of any kind."""
    return passes(words) | passes(words) | sections(words)


@st.composite
def passes(draw: st.DrawFn, words: st.SearchStrategy[str] = WORDS) -> Stage:
    """Draw a pass over the warp, with doubled ends, empty dents and floating selvedges."""
    name: StageName = draw(st.sampled_from(["thread-and-sley", "thread", "sley"]))
    unit_names = tuple(draw(st.lists(words, min_size=1, max_size=4)))
    made = st.builds(
        Made,
        SHAFTS if name == "sley" else st.tuples(st.integers(1, 12)),
        st.integers(0, len(unit_names) - 1),
        words,
        st.integers(0, 2),
        st.just(value=False),
    ) | st.builds(lambda shaft: Made((shaft, shaft), is_doubled=True), st.integers(1, 8))
    groups = draw(
        st.lists(st.tuples(words, st.lists(made, min_size=1, max_size=5)), min_size=1, max_size=4)
    )
    if name != "thread" and draw(st.booleans()):
        groups[0][1].insert(0, Made(()))
        groups[-1][1].append(Made(()))
    return make_stage(name, groups, unit_names)


OPTIONS = st.builds(
    Options,
    ask_counts=st.booleans(),
    demand_counts=st.booleans(),
    size=st.sampled_from(["1", "2", "4", "unit", "dent", "group"]).map(read_size),
    detail=st.sampled_from(DETAILS),
    say_unit=st.booleans(),
    cautions=st.booleans(),
    stage_cautions=st.booleans(),
    knows_cautions=st.booleans(),
    knows_weaving=st.booleans(),
    tell_help=st.booleans(),
    ask_left=st.booleans(),
)

NUMBER = st.integers(0, 16)
COMMANDS = st.one_of(
    st.sampled_from([Command(kind) for kind in Kind]),
    st.just(Command(Kind.DONE)),
    st.just(Command(Kind.DONE)),
    st.builds(Command, st.just(Kind.COUNT), NUMBER),
    st.builds(
        lambda numbers: Command(Kind.COUNT, numbers=tuple(numbers)),
        st.lists(NUMBER, min_size=1, max_size=6),
    ),
    st.builds(Command, st.just(Kind.REWIND), NUMBER),
    st.builds(Command, st.sampled_from([Kind.SPARE, Kind.LACKING]), st.integers(0, 12)),
    st.builds(Command, st.just(Kind.READ_BACK), NUMBER, is_end=st.booleans()),
    st.builds(Command, st.just(Kind.ACCEPT), text=st.text(max_size=40)),
)


def trial_journal(folder: Path) -> Journal:
    """Return the journal of a session whose plan does not matter."""
    return Journal.create(
        folder,
        title="trial",
        plan_path="",
        plan_text="",
        draft_text=None,
        fingerprint="",
        options={},
    )
