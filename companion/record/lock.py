"""One walker at a time: a lock that ends with its process, however that dies, and who has it.

On Linux it lies on the session's own file, so that there is nothing beside it to delete: flock
there is apart from the locks that SQLite takes. On other systems the two would be in each other's
way, and the lock lies on a file beside; Windows deletes no file that is held.
"""

from __future__ import annotations

import json
import os
import platform
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Final, Protocol

from companion.base.clean import clean_line
from companion.base.errors import JournalError
from companion.base.files import make_folder
from companion.base.local_time import lately
from companion.record import faults, store

FOLDER_SECONDS: Final = 10.0
"""How long to wait for another that begins or brings a session in the same folder."""
_LOOK_SECONDS: Final = 0.05
"""How long until it is looked whether the other is done."""


class Lock(Protocol):
    """A lock that is held."""

    def release(self) -> None:
        """Give it back; twice is harmless."""


def take(path: Path, wait_seconds: float = 0) -> Lock | None:
    """Take the lock of the file at `path`, which is there; None where someone keeps it so long."""
    if sys.platform != "linux":
        return _beside(path.with_suffix(".lock"), wait_seconds)
    until = time.monotonic() + wait_seconds
    while (held := _OnFile.take(path)) is None and time.monotonic() < until:
        time.sleep(_LOOK_SECONDS)
    return held


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold the lock of the session at `path`, or raise JournalError that says who has it."""
    held = take(path)
    if held is None:
        raise JournalError(already_walked(path))
    try:
        yield
    finally:
        held.release()


@contextmanager
def folder(path: Path) -> Iterator[None]:
    """Hold the lock under which sessions come to be in a folder, made if it is not there."""
    with faults.plainly(path):
        make_folder(path)
        lock = path / "folder.lock"
        lock.touch()
        held = take(lock, FOLDER_SECONDS)
    if held is None:
        raise JournalError(
            "Another session is being begun or brought in right now. Try again after it."
        )
    try:
        yield
    finally:
        held.release()


def _beside(path: Path, timeout_seconds: float) -> Lock | None:
    from filelock import FileLock, Timeout  # noqa: PLC0415 - Linux does without, and sooner

    lock = FileLock(path, timeout=timeout_seconds, thread_local=False)
    try:
        lock.acquire()
    except Timeout:
        return None
    return lock


class _OnFile:
    """flock on the session's file.

    A process that closes any descriptor of a file loses SQLite's locks on it ("How To Corrupt An
    SQLite Database File", 2.2), so no second one is opened for a file that is held already.
    """

    _held: dict[tuple[int, int], _OnFile] = {}  # noqa: RUF012 - one for the whole process
    _guard = threading.Lock()

    def __init__(self, key: tuple[int, int], descriptor: int) -> None:
        self._key = key
        self._descriptor = descriptor

    @classmethod
    def take(cls, path: Path) -> _OnFile | None:
        import fcntl  # noqa: PLC0415 - Windows has none

        with cls._guard:
            status = path.stat()
            key = (status.st_dev, status.st_ino)
            if key in cls._held:
                return None
            descriptor = os.open(path, os.O_RDONLY)
            try:
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                os.close(descriptor)
                return None
            cls._held[key] = lock = cls(key, descriptor)
            return lock

    def release(self) -> None:
        with self._guard:
            if self._held.pop(self._key, None) is self:
                os.close(self._descriptor)

    @classmethod
    def let_go(cls) -> None:
        """Close what a forked process has of its parent's locks; the parent keeps them."""
        cls._guard = threading.Lock()
        for lock in cls._held.values():
            os.close(lock._descriptor)  # noqa: SLF001 - its own
        cls._held.clear()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_OnFile.let_go)


def holder(since: str) -> str:
    """Return this process as the one that walks from `since` on, UTC, ISO 8601; as JSON."""
    return json.dumps({"pid": os.getpid(), "host": machine(), "since": since})


def machine() -> str:
    """Return this machine's name."""
    return platform.node()  # a socket takes longer to load


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
        end = f"taskkill /f /pid {pid}" if os.name == "nt" else f"kill {pid}"
        mend = f" If nobody sits there any more, end it: {end}." if is_here else ""
    return (
        f"{path.stem}: this session is already being walked{who}. Say stop there, then try "
        f"again.{mend}"
    )
