"""The terms messages are made of: what is counted, causes of a difference, and refusals."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Counted = str
"""What a boundary counts, in the plural: "ends", "dents", "sections"."""


class CauseKind(StrEnum):
    """A way in which a count comes to differ from the plan."""

    UNIT_LEFT_OUT = "unit left out"
    UNIT_TWICE = "unit twice"
    STEP_LEFT_OUT = "step left out"
    STEP_TWICE = "step twice"
    LEFT_IN_CROSS = "left in cross"
    CONFIRMED_TWICE = "confirmed twice"
    TWO_PICKED_AS_ONE = "two picked as one"
    NOT_CONFIRMED = "not confirmed"
    DENT_DOUBLED = "dent doubled"
    DENT_SKIPPED = "dent skipped"
    DOUBLED_AS_ONE = "doubled as one"
    """Two ends in one heddle were counted as one."""
    FLOATING_COUNTED = "floating counted"
    """Floating selvedges were counted among the ends in heddles."""
    EMPTY_COUNTED = "empty counted"
    """Dents left empty on purpose were counted."""
    ENDS_FOR_DENTS = "ends for dents"
    """Ends were counted instead of dents."""
    AS_NAMED = "as named"
    """What the group itself says in `Cause.name`."""


class Refusal(StrEnum):
    """Why a command changes nothing here."""

    COUNT_WANTED = "count wanted"
    HELD = "held"
    PAUSED = "paused"
    NOT_PAUSED = "not paused"
    READING = "reading"
    FINISHED = "finished"
    NOTHING_ASKED = "nothing asked"
    NOTHING_CONFIRMED = "nothing confirmed"
    NOTHING_IN_GROUP = "nothing in group"
    NOTHING_TO_UNDO = "nothing to undo"
    NOTHING_HELD = "nothing held"
    NO_SUCH_GROUP = "no such group"
    NO_SUCH_END = "no such end"
    NOT_YET = "not yet"
    ONE_NUMBER = "one number"
    NO_SHAFTS = "no shafts"
    NOTHING_TO_COUNT = "nothing to count"


@dataclass(frozen=True, slots=True)
class Cause:
    """One likely cause of a difference."""

    kind: CauseKind
    times: int = 1
    """How often it must have happened to make the whole difference."""
    name: str = ""
    """Of the unit, where it has one; or the cause in words."""
    size: int = 0
    """Ends in the unit or step."""
