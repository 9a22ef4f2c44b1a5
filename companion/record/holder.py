"""Who walks a session: written into its file, since the lock beside it holds no names."""

from __future__ import annotations

import json
import os
import socket
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from companion.base.errors import JournalError
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
    """Return the line that says who walks the session at `path`."""
    who = "another process"
    with suppress(JournalError, ValueError, KeyError), faults.plainly(path):
        with closing(store.connect_to_read(path)) as connection:
            text = connection.execute("SELECT holder FROM session").fetchone()[0]
        held = json.loads(text)
        since = held["since"][:16].replace("T", " ")
        who = f"process {held['pid']} on {held['host']} since {since} UTC"
    return f"{path.stem}: this session is already being walked by {who}. Stop it there first."
