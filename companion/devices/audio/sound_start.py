"""Starting PortAudio, so that a process killed meanwhile leaves nothing for others to wait on.

PortAudio asks JACK for its devices, and JACK's library locks a database in shared memory that all
of a user's programs have in common, whether JACK runs or not. A program that is killed with the
lock held leaves it held: whatever starts sound after it waits without end, until the computer is
started again. So a folder is held meanwhile, and where one is left over the database is put away.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.devices.held_folder import HeldFolder

SHARED = Path("/dev/shm")  # noqa: S108 - where JACK's library has it


@contextmanager
def starting(shared: Path = SHARED) -> Iterator[None]:
    """Tell others for how long sound is being started, and mend what a killed process left."""
    try:
        held = HeldFolder("companion-sound-", parent=shared, young_seconds=0.0)
    except OSError:  # no such memory on this system, or none that can be written
        yield
        return
    try:
        if held.left:
            _put_away(shared / f"jack_db-{os.getuid()}", held.path / "left")
        yield
    finally:
        held.cleanup()


def _put_away(database: Path, left: Path) -> None:
    """Take a database away whole: whoever has it open goes on with it, and the next makes it."""
    try:
        database.rename(left)
    except OSError:  # nobody has made it again yet
        return
    shutil.rmtree(left, ignore_errors=True)
