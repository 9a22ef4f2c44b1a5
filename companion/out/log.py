"""Everything done in a session, line by line."""

from collections.abc import Iterator
from typing import Final

from companion.base.local_time import local
from companion.guide import events
from companion.record import Entry
from companion.wording.record import recorded
from companion.wording.stages import recorded_title

_KINDS: Final = {"open": " begun", "next": " begun", "command": "", "close": " left"}


def log_lines(entry: Entry) -> Iterator[str]:
    """Yield the lines of one entry: what was given, and what came of it, indented."""
    weaver = f" by {entry.weaver}" if entry.weaver else ""
    words = f' "{entry.words}"' if entry.words else ""
    kind = _KINDS.get(entry.kind.value, f" {entry.kind}")
    source = "" if entry.source == "program" else f", {entry.source}"
    yield (
        f"{local(entry.at, 'seconds')} {recorded_title(entry.stage)}, step {entry.position} of "
        f"{entry.total}:{kind}{words}{source}{weaver}"
    )
    for told in filter(None, map(recorded, events.from_json(entry.events))):
        yield f"    {told}"
