"""The folder that speech is made in, and those that processes which were killed have left."""

import os
import shutil
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

PREFIX: Final = "companion-voice-"
YOUNG_SECONDS: Final = 60.0
"""A folder as young as that may have been made just now, and not be locked yet."""


class SpeechFolder:
    """A temporary folder; while this process lives it holds a lock, which no kill leaves behind.

    Another of the user's that nobody holds is left over, and taken away when this one is made.
    Where there are no such locks, as on Windows, none are looked for.
    """

    def __init__(self) -> None:
        self._folder = TemporaryDirectory(prefix=PREFIX)
        self.path = Path(self._folder.name)
        self._lock = _lock(self.path)
        for left in self.path.parent.glob(f"{PREFIX}*"):
            if (lock := _lock(left)) is not None:
                if time.time() - os.fstat(lock).st_mtime > YOUNG_SECONDS:
                    shutil.rmtree(left, ignore_errors=True)
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
