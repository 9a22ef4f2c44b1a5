"""One walker at a time: a lock beside the session's file that ends with its process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

if TYPE_CHECKING:
    from pathlib import Path


def take(path: Path) -> FileLock | None:
    """Take the lock of the session file at `path`; None where another process has it.

    The system drops it when the process dies, however it dies, so that a lock left behind never
    keeps a weaver from their own session.
    """
    lock = FileLock(path.with_suffix(".lock"), timeout=0, thread_local=False)
    try:
        lock.acquire()
    except Timeout:
        return None
    return lock
