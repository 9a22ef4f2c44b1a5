"""What a paired device may open: its own loom, or all of them."""

from typing import Final

TEACHER: Final = "*"
"""The reach of a teacher's device; no loom's key has such a mark."""
BOARD: Final = ""
"""The reach of a device that was paired with the board of a single walk."""
_LOOM, _LOOMS = "loom", "looms"


def may_reach(reach: str, path: str) -> bool:
    """Return whether a device may open an address.

    What belongs to a loom is beneath /loom/KEY/, what is the teacher's beneath /looms/; the rest is
    the front door, which leads each device to its own, and the board of a single walk.
    """
    first, _, rest = path.removeprefix("/").partition("/")
    if reach == TEACHER or first not in {_LOOM, _LOOMS}:
        return True
    return first == _LOOM and reach != BOARD and rest.partition("/")[0] == reach


def told(reach: str) -> str:
    """Return for whom a device is, in a few words; "" for the board of a single walk."""
    if reach == TEACHER:
        return "teacher"
    return f"loom {reach}" if reach else ""
