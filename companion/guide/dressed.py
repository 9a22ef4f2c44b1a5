"""A stage with the plan behind it, for what its steps do not hold: treadling and heddles had."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, NamedTuple

from companion.job import Stage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from companion.loom.dressing import Dressing


@dataclass(frozen=True, slots=True)
class DressedStage(Stage):
    """A stage and the dressing it was made from."""

    dressing: Dressing | None = None


class Left(NamedTuple):
    """Something that is left over when the stage is complete, and can be checked by number."""

    what: str
    """"heddles" or "dents"."""
    shaft: int
    """0 for dents."""
    planned: int


def dressed(stage: Stage, dressing: Dressing) -> DressedStage:
    """Return the stage with the dressing behind it."""
    own = {field.name: getattr(stage, field.name) for field in fields(Stage)}
    return DressedStage(**own, dressing=dressing)


def dressing_of(stage: Stage) -> Dressing | None:
    """Return the dressing behind a stage, where it is known."""
    return stage.dressing if isinstance(stage, DressedStage) else None


def left_over(stage: Stage) -> tuple[Left, ...]:
    """Return what is left over at the end of the stage as planned, in the order it is asked.

    Heddles are asked of each shaft in use whose own number the plan gives.
    """
    dressing = dressing_of(stage)
    return tuple(_left_over(stage, dressing)) if dressing is not None else ()


def _left_over(stage: Stage, dressing: Dressing) -> Iterator[Left]:
    if stage.name in {"thread", "thread-and-sley"}:
        for row in dressing.heddles:
            if row.needed and row.have is not None:
                yield Left("heddles", row.shaft, max(0, row.have - row.needed))
    if stage.name in {"sley", "thread-and-sley"}:
        yield Left("dents", 0, dressing.sley.empty_after)
