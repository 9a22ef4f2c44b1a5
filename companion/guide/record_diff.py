"""What one step of the journal brought that is worth telling afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.guide.messages import Message
    from companion.guide.state import State


def news(before: State | None, after: State) -> tuple[Message, ...]:
    """Return the counts let stand and the mends that are on record after and were not before.

    Args:
        before: the state before; None where the stage had none.
        after: the state after it, of the same stage.
    """
    let_stand = before.overrides if before else ()
    mended = before.mended if before else ()
    told: list[Message] = [given for given in after.overrides if given not in let_stand]
    return (*told, *after.mended[len(mended) :])
