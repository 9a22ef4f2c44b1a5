"""From a computed dressing to the immutable list of steps of each stage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

StageName = Literal["thread-and-sley", "thread", "sley"]


class Step(NamedTuple):
    """One thing the weaver does between two confirmations."""

    number: int
    """1-based in its stage."""
    first_end: int
    """The first end it handles; 0 for a floating selvedge."""
    last_end: int
    """The last end it handles, inclusive; 0 for a floating selvedge."""
    shafts: tuple[int, ...]
    """The shaft of each end; empty for a floating selvedge."""
    dents: tuple[int, ...]
    """The dent of each end; empty in a stage without the reed."""
    empty_dents: int
    """Dents to leave empty just before this step."""
    colour: str
    is_new_colour: bool
    """Whether the colour differs from the step before."""
    group: int
    """1-based."""
    unit: int
    """Index in the draft's units of the first end's unit; -1 for a floating selvedge."""
    is_floating: bool = False


class StepGroup(NamedTuple):
    """Steps checked together at a boundary."""

    number: int
    name: str
    first_step: int
    last_step: int
    expected: int
    """What the weaver should count at the boundary."""


@dataclass(frozen=True, slots=True)
class Stage:
    """One pass of the job."""

    name: StageName
    title: str
    """For the ear: "threading and sleying"."""
    counted: Literal["ends", "dents"]
    """What the boundary check counts."""
    steps: tuple[Step, ...]
    groups: tuple[StepGroup, ...]
    unit_names: tuple[str, ...]
    """Spoken label of each of the draft's units, "" where it has none."""
    start: str
    """Where to start and which way to go, as sentences that name their point of view."""
