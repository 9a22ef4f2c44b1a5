"""Whole presses for learning a pedal, from the terminal or from the kernel.

A press is everything that comes until the keys have been quiet for a moment. So a held pedal is
one press however long it repeats, and a pedal that types a whole word is seen to do so.
"""

import contextlib
import os
import select
from collections.abc import Iterable

from companion.devices.pedal.decode import KeyDecoder
from companion.devices.pedal.devices import InputDevice
from companion.devices.pedal.evdev_pedal import InputBackend, OpenDevice
from companion.devices.pedal.keys import KeyChange
from companion.devices.pedal.learn import Press

QUIET_SECONDS = 0.7
"""Longer than most keyboards wait before they repeat a held key."""

_CHUNK_BYTES = 1024
_ENDS = frozenset({"ctrl c", "ctrl d"})


def as_press(keys: Iterable[str], device: str = "") -> Press:
    """Return keys that came together as one press, each key once, in order."""
    return Press(tuple(dict.fromkeys(key.lower() for key in keys)), device)


def terminal_press(descriptor: int = 0, quiet_seconds: float = QUIET_SECONDS) -> Press | None:
    """Wait for the next press of a terminal in character mode (see `character_mode`).

    None at the end of input or on Ctrl-D.
    """
    decoder = KeyDecoder()
    keys = decoder.feed(os.read(descriptor, _CHUNK_BYTES))
    while select.select([descriptor], [], [], quiet_seconds)[0]:
        data = os.read(descriptor, _CHUNK_BYTES)
        if not data:
            break
        keys += decoder.feed(data)
    keys += decoder.flush()
    return None if not keys or _ENDS.intersection(keys) else as_press(keys)


class PedalPresses:
    """Presses of the given event devices, and of the terminal for Escape alone.

    Devices that may not be read are left out; the terminal is in character mode.
    """

    def __init__(
        self,
        devices: Iterable[InputDevice],
        descriptor: int = 0,
        backend: InputBackend | None = None,
        quiet_seconds: float = QUIET_SECONDS,
    ) -> None:
        self._descriptor = descriptor
        self._quiet_seconds = quiet_seconds
        self._open: dict[int, tuple[OpenDevice, str]] = {}
        backend = backend or InputBackend()
        for device in devices:
            with contextlib.suppress(OSError):
                opened = backend.open(device)
                self._open[opened.fileno()] = (opened, device.identity)

    @property
    def is_empty(self) -> bool:
        """Whether no device could be opened."""
        return not self._open

    def next(self) -> Press | None:
        """Wait for the next press; None at the end of input or when the devices are gone."""
        while self._open:
            ready, _, _ = select.select([self._descriptor, *self._open], [], [])
            pedal = next((number for number in ready if number in self._open), None)
            if pedal is None:
                press = terminal_press(self._descriptor, self._quiet_seconds)
            else:
                press = self._press(pedal)
            # The keyboard is a device too: what it sent both ways is one press.
            self._drain()
            if press is None or press.keys == ("escape",) or (press.keys and press.device):
                return press
        return None

    def _press(self, number: int) -> Press:
        device, identity = self._open[number]
        try:
            return as_press(self._collect(device), identity)
        except OSError:
            del self._open[number]
            device.close()
            return Press((), identity)

    def _collect(self, device: OpenDevice) -> list[str]:
        """Return the keys that one device presses until all are up and it is quiet."""
        keys: list[str] = []
        down: set[str] = set()
        while True:
            for event in device.read() or []:
                (down.discard if event.change is KeyChange.RELEASE else down.add)(event.key)
                keys += [event.key] if event.change is KeyChange.PRESS else []
            patience = None if down else self._quiet_seconds
            if not select.select([device], [], [], patience)[0]:
                return keys

    def _drain(self) -> None:
        while ready := select.select([self._descriptor, *self._open], [], [], 0)[0]:
            for number in ready:
                if number != self._descriptor:
                    self._press(number)
                elif not os.read(number, _CHUNK_BYTES):
                    return
