"""Temporary folders that tell whether the process which made them lives, and what is left over."""

import os
import shutil
import time
from pathlib import Path
from tempfile import TemporaryDirectory


class HeldFolder:
    """A temporary folder; while this process lives it holds a lock, which no kill leaves behind.

    Others of the user's with this prefix that nobody holds are left over, and are taken away when
    this one is made. Where there are no such locks, as on Windows, none are looked for.

    Args:
        prefix: what the names of such folders begin with.
        parent: where they are; the system's place for temporary files unless told otherwise.
        young_seconds: a folder no older may have been made just now, and not be locked yet.
    """

    def __init__(
        self, prefix: str, *, parent: Path | None = None, young_seconds: float = 60.0
    ) -> None:
        self._folder = TemporaryDirectory(prefix=prefix, dir=parent)
        self.path = Path(self._folder.name)
        self._lock = _lock(self.path)
        self.left = 0
        """How many folders of processes that were killed were taken away."""
        for left in self.path.parent.glob(f"{prefix}*"):
            if (lock := _lock(left)) is not None:
                if time.time() - os.fstat(lock).st_mtime > young_seconds:
                    shutil.rmtree(left, ignore_errors=True)
                    self.left += 1
                os.close(lock)

    def cleanup(self) -> None:
        """Take the folder away; doing it twice does no harm."""
        self._folder.cleanup()
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None


def _lock(folder: Path) -> int | None:
    """Lock a folder; None where it is held, not the user's, gone, or cannot be locked."""
    if os.name != "posix":
        return None
    import fcntl  # noqa: PLC0415 - Windows has none

    try:
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    except OSError:
        return None
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if os.fstat(descriptor).st_uid == os.geteuid():
            return descriptor
    except OSError:
        pass
    os.close(descriptor)
    return None
