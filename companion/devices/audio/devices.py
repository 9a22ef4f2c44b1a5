"""Sound devices: which there are, which is meant, and what one must do."""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Protocol

from companion.base.errors import AudioError
from companion.base.value import Value

Fill = Callable[[int, int], bytes]
"""Returns at once so many frames of mono 16-bit sound; told of underflows since the last."""

CLOSE_SECONDS = 2.0
"""How long a vanished device may take to be closed before it is left behind."""
NO_OUTPUT = "No loudspeaker was found; plug one in or switch it on."


class Device(Value):
    """A sound device as the system names it now; numbers change when devices come and go."""

    number: int
    name: str
    system: str
    """The sound system it belongs to ("ALSA", "Windows WASAPI")."""
    inputs: int
    outputs: int
    rate: int
    """Its own samples per second."""
    is_default: bool = False

    def __str__(self) -> str:
        return f"{self.number}: {self.name}, {self.system}"


class Stream(Protocol):
    """A stream from or to a device, which calls us from a thread of its own while started."""

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        """Stop at once."""

    def close(self) -> None:
        """Let the device go."""


class OutputStream(Stream, Protocol):
    """A stream to a loudspeaker, which calls its `Fill`."""

    latency_seconds: float
    """From the filled block to the ear, as the system estimates it."""

    @property
    def is_active(self) -> bool:
        """Whether it is running, as far as the system knows."""


class SoundSystem(Protocol):
    """What opens devices; the real one is `companion.devices.audio.portaudio.PortAudio`."""

    def outputs(self) -> list[Device]:
        """Return the loudspeakers known now, the usual one marked."""

    def open_output(
        self, device: Device, rate: int, latency_seconds: float, fill: Fill
    ) -> OutputStream:
        """Return a stream, not yet started, or raise AudioError."""

    def refresh(self) -> None:
        """Look for devices anew, unless a stream is open, which would lose it."""


def end(stream: Stream) -> None:
    """Stop and close a stream, whose device may have gone already."""
    for action in (stream.stop, stream.close):
        with suppress(AudioError):
            action()


def let_go(stream: Stream) -> None:
    """End a stream in a helper that is left behind if the device hangs."""
    helper = threading.Thread(target=end, args=(stream,), daemon=True)
    helper.start()
    helper.join(CLOSE_SECONDS)


def choose(devices: Sequence[Device], wanted: str, none: str = NO_OUTPUT) -> Device:
    """Return the device meant by a number, a name, "name, system" or a part of a name.

    Empty is the system's own choice. Where none or several fit, raises AudioError that lists them.
    """
    if not devices:
        raise AudioError(none)
    if not wanted:
        return next((device for device in devices if device.is_default), devices[0])
    low = wanted.casefold().strip()
    fitting = [device for device in devices if low in _full_names(device)]
    fitting = fitting or [device for device in devices if low in device.name.casefold()]
    if len(fitting) == 1:
        return fitting[0]
    listed = "; ".join(str(device) for device in fitting or devices)
    fault = "Several sound devices are" if fitting else "No sound device is"
    raise AudioError(f"{fault} called {wanted!r}; choose one by number or full name: {listed}")


def _full_names(device: Device) -> tuple[str, ...]:
    name = device.name.casefold()
    return (str(device.number), name, f"{name}, {device.system.casefold()}")
