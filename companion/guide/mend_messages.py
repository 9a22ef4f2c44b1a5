"""What the guide has to say of errors and their mending, as data; see `messages`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from companion.diagnosis.mends import Mend
from companion.diagnosis.slips import Advice, Diagnosis
from companion.guide.terms import Message, Task
from companion.job import LeftOver

if TYPE_CHECKING:
    from companion.diagnosis.effect import Effect


class Suspected(Message):
    """What all that was reported of this stretch most likely means."""

    diagnoses: tuple[Diagnosis, ...]
    """The likeliest first; empty where nothing is known to be wrong."""
    advice: tuple[Advice, ...] = ()
    may_mend: bool = True
    """Whether a mend can follow at once; not where a place is still to be found."""
    may_read: bool = True
    """Whether the group can be read back; not one of a stage that is past."""
    has_way: bool = True
    """Whether any way to mend it can be walked from here."""


class MendQuestion(Message):
    """Shall this be mended, in this way?"""

    diagnosis: Diagnosis
    mend: Mend
    effect: Effect | None
    """On the cloth, if it is left as it is; None where the place or the treadling is not known."""
    others: int
    """How many other ways may be asked for."""
    telling: Literal["way", "cause", "whole"] = "whole"
    """Whether the way alone is told, what is wrong as well, or also what that does to the cloth."""


class MendStep(Message):
    """One small step of a mend."""

    task: Task
    number: int
    """1-based."""
    steps: int


class LeftQuestion(Message):
    """How many heddles, or dents, are left over now that the stage is complete?"""

    left: LeftOver
    is_full: bool = False
    """Whether it is asked for anew, with what it is good for."""
