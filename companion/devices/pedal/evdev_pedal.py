"""Foot pedals read from the Linux kernel, so that the terminal need not be in front.

Only the one device that the weaver named is opened, never all keyboards. It is grabbed by
default, so that what the pedal types reaches nothing else (and no key arrives twice).
"""

import contextlib
import math
import os
import select
import time
from collections.abc import Iterable
from itertools import chain, repeat
from typing import Protocol

from companion.base.errors import PedalError
from companion.base.lines import Tell
from companion.devices.pedal.devices import (
    AbsentPedalError,
    InputDevice,
    choose,
    list_devices,
    permission_help,
)
from companion.devices.pedal.gesture import Act, Gesture, SwitchReader, Tempo, Timing
from companion.devices.pedal.keys import Emit, KeyEvent
from companion.devices.pedal.table import Bindings
from companion.devices.pedal.typed import stuck_line

RETRY_SECONDS = (1.0, 2.0, 5.0)
"""Waits before a vanished pedal is looked for again; the last one repeats."""


class OpenDevice(Protocol):
    """An event device that has been opened."""

    def fileno(self) -> int:
        """Return a descriptor that is readable when there are changes."""

    def read(self) -> list[KeyEvent] | None:
        """Return the changes waiting; None where some were lost (OSError: it is gone)."""

    def grab(self) -> None:
        """Become the only receiver (OSError: another program is)."""

    def close(self) -> None:
        """Let it go."""


class InputBackend:
    """Where devices come from: the kernel, through the evdev library."""

    def devices(self) -> tuple[InputDevice, ...]:
        """Return every event device that sysfs lists, readable or not."""
        return list_devices()

    def open(self, device: InputDevice) -> OpenDevice:
        """Open one for reading (PermissionError, OSError)."""
        from companion.devices.pedal.evdev_device import EvdevDevice  # noqa: PLC0415 - native, Linux only

        return EvdevDevice(device.path)


class EvdevPedal:
    """One pedal as a source of commands.

    Args:
        wanted: the pedal's "vendor:product" or a part of its name.
        bindings: what its keys mean, with holds and double taps.
        timing: limits in seconds.
        dead_time_seconds: how long the same command is refused after it acted.
        show: takes a plain line: a stuck, lost or returned pedal.
        is_grabbed: whether to be the only program that hears the pedal.
    """

    name = "pedal"

    def __init__(
        self,
        wanted: str,
        bindings: Bindings,
        timing: Timing,
        dead_time_seconds: float,
        show: Tell,
        *,
        is_grabbed: bool = True,
        backend: InputBackend | None = None,
        retry_seconds: tuple[float, ...] = RETRY_SECONDS,
    ) -> None:
        self._wanted = wanted
        self._bindings = bindings
        self._reader = SwitchReader(
            timing, bindings.keys(Gesture.HOLD), bindings.keys(Gesture.DOUBLE)
        )
        self._tempo = Tempo(dead_time_seconds)
        self._show = show
        self._is_grabbed = is_grabbed
        self._backend = backend or InputBackend()
        self._retry_seconds = retry_seconds
        self._open: list[OpenDevice] = []
        self._wake_read, self._wake_write = os.pipe()

    def connect(self) -> None:
        """Open the pedal before the walk begins; PedalError, with what to do, if it cannot be."""
        for device in choose(self._wanted, self._backend.devices()):
            try:
                self._open.append(self._backend.open(device))
            except PermissionError:
                self._close()
                raise PedalError(permission_help(device)) from None
            except OSError as error:
                self._close()
                raise PedalError(
                    f"The pedal {device} cannot be opened: {error.strerror}. Plug it in again."
                ) from None
        self._grab()

    def _grab(self) -> None:
        if not self._is_grabbed:
            return
        try:
            for device in self._open:
                device.grab()
        except OSError:
            self._show(
                "Another program holds the pedal too, so its keys may also be typed elsewhere. "
                "Close that program."
            )

    def stop(self) -> None:
        """Make `run` return soon; safe from any thread and more than once."""
        with contextlib.suppress(OSError):
            os.write(self._wake_write, b"x")

    def run(self, emit: Emit) -> None:
        """Emit command text until stopped; a pedal that vanishes is waited for."""
        try:
            while self._wait_for_pedal():
                if self._listen(emit):
                    return
                self._close()
                self._reader.forget()
                self._show("The pedal is gone. The walk goes on by key and voice.")
        finally:
            self._close()
            os.close(self._wake_read)
            os.close(self._wake_write)

    def _wait_for_pedal(self) -> bool:
        """Open the pedal, trying again and again; False where we were stopped meanwhile."""
        if self._open:
            return True
        told = ""
        waits = chain(self._retry_seconds, repeat(self._retry_seconds[-1]))
        while not select.select([self._wake_read], [], [], next(waits))[0]:
            try:
                self.connect()
            except AbsentPedalError:
                continue
            except PedalError as error:
                if str(error) != told:
                    told = str(error)
                    self._show(told)
            else:
                self._show("The pedal is back.")
                return True
        return False

    def _listen(self, emit: Emit) -> bool:
        """Pass on what the pedal says; True when stopped, False when the pedal is gone."""
        while True:
            waiting = [self._wake_read, *(device.fileno() for device in self._open)]
            ready, _, _ = select.select(waiting, [], [], self._patience())
            if self._wake_read in ready:
                return True
            try:
                for device in self._open:
                    if device.fileno() in ready:
                        self._read(device, emit)
            except OSError:
                return False
            self._act(self._reader.tick(time.monotonic()), emit)

    def _patience(self) -> float | None:
        wait = self._reader.deadline() - time.monotonic()
        return None if wait == math.inf else max(0.0, wait)

    def _read(self, device: OpenDevice, emit: Emit) -> None:
        events = device.read()
        if events is None:  # a release may be among the lost changes
            self._reader.forget()
            return
        for event in events:
            self._act(self._reader.feed(event), emit)

    def _act(self, acts: Iterable[Act], emit: Emit) -> None:
        for act in acts:
            command = self._bindings.command(act.key, act.gesture)
            if act.gesture is Gesture.STUCK:
                self._show(stuck_line(act.key))
            elif command is None:
                self._show(
                    f"The pedal's key {act.key} means nothing yet. Run companion pedal learn."
                )
            else:
                for text in self._tempo.commands(command, act.time, command):
                    emit(text)

    def _close(self) -> None:
        for device in self._open:
            with contextlib.suppress(OSError):
                device.close()
        self._open.clear()
