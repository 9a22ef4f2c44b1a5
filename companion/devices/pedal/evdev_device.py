"""One event device through the evdev library; the only module that knows its codes."""

import contextlib
import fcntl
import struct
import time
from collections.abc import Iterable
from typing import Any

from companion.base.errors import PedalError
from companion.devices.pedal.keys import KeyChange, KeyEvent, canonical_key

# From linux/input.h: EVIOCSCLOCKID is _IOW('E', 0xa0, int). With the kernel's monotonic clock
# the events carry the very times of time.monotonic(), and a late reader still measures a hold.
_SET_CLOCK = 0x400445A0


def _evdev() -> Any:
    try:
        import evdev  # noqa: PLC0415 - native and optional
    except ImportError:
        raise PedalError(
            "Expected the Python package evdev-binary to read a pedal, and it is not installed. "
            "Install companion with its pedal extra, on Linux."
        ) from None
    return evdev


def key_name(names: str | Iterable[str]) -> str:
    """Return our name of a key from the kernel's, or all of them: KEY_PAGEDOWN is "page down"."""
    first = names if isinstance(names, str) else min(names)
    prefix, _, rest = first.partition("_")
    word = rest.replace("_", " ").lower()
    return canonical_key(word if prefix == "KEY" else f"button {word}")


class EvdevDevice:
    """An opened event device that tells key changes."""

    def __init__(self, path: str) -> None:
        library = _evdev()
        self._codes = library.ecodes
        self._device = library.InputDevice(path)
        self._is_monotonic = False
        with contextlib.suppress(OSError):
            fcntl.ioctl(self._device.fd, _SET_CLOCK, struct.pack("i", time.CLOCK_MONOTONIC))
            self._is_monotonic = True

    def fileno(self) -> int:
        """Return the descriptor."""
        return int(self._device.fd)

    def read(self) -> list[KeyEvent] | None:
        """Return the key changes waiting; None where the kernel dropped some."""
        codes = self._codes
        changes = []
        with contextlib.suppress(BlockingIOError):  # another reader, or nothing was there after all
            for event in self._device.read():
                if event.type == codes.EV_SYN and event.code == codes.SYN_DROPPED:
                    return None
                if event.type == codes.EV_KEY:
                    changes.append(self._change(event))
        return changes

    def _change(self, event: Any) -> KeyEvent:
        names = self._codes.bytype[self._codes.EV_KEY].get(event.code, f"KEY_{event.code}")
        moment = event.timestamp() if self._is_monotonic else time.monotonic()
        return KeyEvent(key_name(names), KeyChange(event.value), moment)

    def grab(self) -> None:
        """Become the only receiver."""
        self._device.grab()

    def close(self) -> None:
        """Let it go; the kernel ends the grab."""
        self._device.close()
