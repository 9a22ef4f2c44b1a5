"""Who walks a session: written into its file, since a lock holds no names."""

from __future__ import annotations

import json
import os
import socket
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.base.local_time import lately
from companion.record import faults, store

if TYPE_CHECKING:
    from pathlib import Path


def holder(since: str) -> str:
    """Return this process as the one that walks from `since` on, UTC, ISO 8601; as JSON."""
    return json.dumps({"pid": os.getpid(), "host": machine(), "since": since})


def machine() -> str:
    """Return this machine's name."""
    return socket.gethostname()


def already_walked(path: Path) -> str:
    """Return the line that says who walks the session at `path`, and what to do."""
    who = mend = ""
    with suppress(JournalError, ValueError, KeyError, TypeError), faults.plainly(path):
        with closing(store.connect_to_read(path)) as connection:
            held = json.loads(store.holder_of(connection))
            weaver = store.last_weaver(connection, held["since"])
        pid, host, since = int(held["pid"]), clean_line(held["host"]), lately(held["since"])
        is_here = host == machine()
        who = f" by {weaver}" if weaver else ""
        who += f" on {'this machine' if is_here else host} since {since} (process {pid})"
        mend = f" If nobody sits there any more, end it: {_ending(pid)}." if is_here else ""
    return (
        f"{path.stem}: this session is already being walked{who}. Say stop there, then try "
        f"again.{mend}"
    )


def _ending(pid: int) -> str:
    return f"taskkill /f /pid {pid}" if os.name == "nt" else f"kill {pid}"
