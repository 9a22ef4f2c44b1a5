"""Hand-written input devices: real descriptors, so that `select` sees them, and named levers."""

from __future__ import annotations

import contextlib
import os
import time
from dataclasses import dataclass, field

from companion.devices.pedal.devices import InputDevice
from companion.devices.pedal.evdev_pedal import InputBackend
from companion.devices.pedal.keys import KeyChange, KeyEvent

PEDAL = InputDevice("/dev/input/event7", "Three Pedal Switch", "1234", "abcd")
PEDAL_MOUSE = InputDevice("/dev/input/event8", "Three Pedal Switch Mouse", "1234", "abcd")
KEYBOARD = InputDevice("/dev/input/event0", "Ordinary Keyboard", "4321", "dcba")


class FakeDevice:
    """An opened device; its events wait until they are read."""

    def __init__(self, *, is_taken: bool = False) -> None:
        self._read_end, self._write_end = os.pipe()
        self._is_taken = is_taken
        self._events: list[KeyEvent] = []
        self._has_lost_events = False
        self.is_grabbed = False
        self.is_gone = False
        self.is_closed = False

    def change(self, key: str, change: KeyChange, at: float | None = None) -> None:
        """Let a key change."""
        self._events.append(KeyEvent(key, change, time.monotonic() if at is None else at))
        os.write(self._write_end, b"x")

    def taps(self, key: str, *times: float) -> None:
        """Press a key and let it go at these times, all of it read at once."""
        for at in times:
            self._events += [KeyEvent(key, KeyChange.PRESS, at)]
            self._events += [KeyEvent(key, KeyChange.RELEASE, at + 0.08)]
        os.write(self._write_end, b"x")

    def tap(self, key: str) -> None:
        """Press a key and let it go."""
        self.change(key, KeyChange.PRESS)
        self.change(key, KeyChange.RELEASE)

    def unplug(self) -> None:
        """Vanish."""
        self.is_gone = True
        with contextlib.suppress(OSError):  # woken by an earlier change it may be closed already
            os.write(self._write_end, b"x")

    def lose_events(self) -> None:
        """Let the kernel's buffer overflow."""
        self._has_lost_events = True
        os.write(self._write_end, b"x")

    def fileno(self) -> int:
        return self._read_end

    def read(self) -> list[KeyEvent] | None:
        if self.is_gone:
            raise OSError(19, "No such device")
        os.read(self._read_end, 4096)
        events, self._events = self._events, []
        if self._has_lost_events:
            self._has_lost_events = False
            return None
        return events

    def grab(self) -> None:
        if self._is_taken:
            raise OSError(16, "Device or resource busy")
        self.is_grabbed = True

    def close(self) -> None:
        if not self.is_closed:
            self.is_closed = True
            for end in (self._read_end, self._write_end):
                with contextlib.suppress(OSError):
                    os.close(end)


@dataclass
class FakeBackend(InputBackend):
    """The machine's input devices."""

    plugged: dict[InputDevice, FakeDevice] = field(default_factory=dict)
    forbidden: set[InputDevice] = field(default_factory=set)

    def devices(self) -> tuple[InputDevice, ...]:
        return tuple(self.plugged)

    def open(self, device: InputDevice) -> FakeDevice:
        if device in self.forbidden:
            raise PermissionError(13, "Permission denied")
        return self.plugged[device]
