"""What an entry changes of what its session walks: the stages, or the plan itself."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

from companion.record.entry import EntryKind

if TYPE_CHECKING:
    from companion.record.entry import Entry


class WalkChange(NamedTuple):
    """What is walked from an entry on, as far as it is another than before."""

    options: dict[str, Any]
    fingerprint: str = ""
    """Of the plan; "" where that stays."""
    plan_text: str = ""
    draft_text: str | None = None


NONE = WalkChange({})
_OPTIONS = ("stages", "turn", "first_dent", "declined")


def change_in(entry: Entry) -> WalkChange:
    """Return what an entry changes: what its event tells, if it does, to be walked "after" it."""
    if entry.kind is not EntryKind.PLAN:
        return NONE
    told = [each["after"] for each in json.loads(entry.events) if "after" in each]
    after = told[-1] if told else {}
    if not isinstance(after, dict):
        return NONE
    options = {name: after[name] for name in _OPTIONS if name in after}
    texts = [after.get(name, "") for name in ("fingerprint", "plan_text", "draft_text")]
    if not all(isinstance(text, str) for text in texts):
        return NONE
    return WalkChange(options, texts[0], texts[1], after.get("draft_text"))
