"""What the guide has to say of another plan than the one being walked, as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.guide.terms import Message, Way

if TYPE_CHECKING:
    from companion.job import Stage


class PlanQuestion(Message):
    """The plan is another, and some of what is done must be undone for it: shall it be walked?"""

    stage: Stage
    first: int
    """The first that must be undone, by the number the weaver knows."""
    last: int
    why: str = ""
    """What else there is to say of the new plan: one of the words of `guide.terms`, or ""."""
    ends: tuple[int, ...] = ()
    """Those that are on other shafts in it, where they can be mended as they are."""


class EdgeQuestion(Message):
    """The work was begun at the wrong edge: shall it go on in this way?"""

    stage: Stage
    way: Way
    last: int
    """The last that is done, by the number the weaver knows."""
