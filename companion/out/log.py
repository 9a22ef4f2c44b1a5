"""Everything done in a session, line by line."""

from collections.abc import Iterator

from companion.base.local_time import local
from companion.guide import events
from companion.record import Entry, EntryKind
from companion.wording.record import recorded


def log_lines(entry: Entry) -> Iterator[str]:
    """Yield the lines of one entry: what was given, and what came of it, indented."""
    weaver = f" by {entry.weaver}" if entry.weaver else ""
    words = f' "{entry.words}"' if entry.words else ""
    kind = "" if entry.kind is EntryKind.COMMAND else f" {entry.kind}"
    yield (
        f"{local(entry.at, 'seconds')} {entry.stage}, step {entry.position} of "
        f"{entry.total}:{kind}{words}, {entry.source}{weaver}"
    )
    for told in filter(None, map(recorded, events.from_json(entry.events))):
        yield f"    {told}"
