"""The wording of what is walked otherwise than it was begun: more stages, or another plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.base.text import capital, listed
from companion.wording.stages import TITLES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.guide.events import StagesAdded
    from companion.job import StageName
    from companion.wording.voice import Style


def counted_as_done(names: Sequence[StageName]) -> str:
    """Return what is said of stages that the work begun shows to be done."""
    verb = "counts" if len(names) == 1 else "count"
    return f"{capital(listed([TITLES[name] for name in names]))} {verb} as done."


def stages_added(event: StagesAdded, _style: Style) -> str:
    """Return what the log tells of the stages that a session walks from here on."""
    return f"Walked from here on: {listed([TITLES[name] for name in event.after.stages])}."
