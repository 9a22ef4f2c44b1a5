"""The sound devices of this machine, by way of PortAudio and the sounddevice library."""

from __future__ import annotations

import ctypes
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from weakref import WeakSet

from companion.base.errors import AudioError
from companion.devices.audio.clip import SAMPLE_BYTES
from companion.devices.audio.devices import Device, Fill, OutputStream, Stream
from companion.devices.audio.sound_start import starting

if TYPE_CHECKING:
    from companion.devices.audio.capture import Take


@lru_cache(maxsize=1)
def portaudio() -> PortAudio:
    """Return this process's one PortAudio, which loudspeaker and microphone share."""
    return PortAudio()


def _say_nothing(*_: object) -> None:
    """Drop what ALSA would print over the walk; every fault reaches us as an error code too."""


_HANDLER = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)(_say_nothing)


def _hush_alsa() -> None:
    if sys.platform.startswith("linux"):
        with suppress(OSError, AttributeError):  # no ALSA, so nothing of it to hush
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_HANDLER)


class PortAudio:
    """The sound devices, by `portaudio()` alone; AudioError where PortAudio is not installed."""

    def __init__(self) -> None:
        _hush_alsa()
        try:
            with starting():
                import sounddevice  # noqa: PLC0415 - native: loaded only where sound is wanted
        except OSError:
            raise AudioError(
                "No sound: PortAudio is missing; install it: apt-get install libportaudio2"
            ) from None
        self._library = sounddevice
        self._lock = threading.Lock()
        self._open: WeakSet[_Stream] = WeakSet()

    def outputs(self) -> list[Device]:
        """Return the loudspeakers."""
        return [device for device in self.devices(default_index=1) if device.outputs]

    def inputs(self) -> list[Device]:
        """Return the microphones."""
        return [device for device in self.devices(default_index=0) if device.inputs]

    def devices(self, default_index: int) -> list[Device]:
        """Return all devices; 0 marks the usual microphone, 1 the usual loudspeaker."""
        default = self._library.default.device[default_index]
        systems = [host["name"] for host in self._library.query_hostapis()]
        return [
            Device(
                number=found["index"],
                name=found["name"],
                system=systems[found["hostapi"]],
                inputs=found["max_input_channels"],
                outputs=found["max_output_channels"],
                rate=round(found["default_samplerate"]),
                is_default=found["index"] == default,
            )
            for found in self._library.query_devices()
        ]

    def open_output(
        self, device: Device, rate: int, latency_seconds: float, fill: Fill
    ) -> OutputStream:
        """Return a mono 16-bit stream to a loudspeaker."""

        def call(out: Any, frames: int, _time: Any, status: Any) -> None:
            out[: frames * SAMPLE_BYTES] = fill(frames, int(status.output_underflow))

        asked = {"samplerate": rate, "channels": 1, "latency": latency_seconds}
        return self._opened("loudspeaker", self._library.RawOutputStream, device, call, **asked)

    def open_input(
        self, device: Device, channels: int, latency_seconds: float, take: Take
    ) -> Stream:
        """Return a 16-bit stream from a microphone at its own rate."""

        def call(taken: Any, _frames: int, _time: Any, status: Any) -> None:
            take(bytes(taken), bool(status.input_overflow))

        asked = {"samplerate": device.rate, "channels": channels, "latency": latency_seconds}
        return self._opened("microphone", self._library.RawInputStream, device, call, **asked)

    def refresh(self) -> None:
        """Start PortAudio again, for it looks for devices only then; it would close any stream."""
        library = self._library
        try:
            with self._lock:
                if any(stream.is_open for stream in self._open):
                    return
                with starting():
                    library._terminate()  # noqa: SLF001 - the way its maintainer gives
                    library._initialize()  # noqa: SLF001
        except library.PortAudioError as error:
            raise AudioError(f"The sound system does not start: {error}") from None

    def _opened(
        self,
        name: str,
        make: Callable[..., Any],
        device: Device,
        call: Callable[..., None],
        **asked: float,
    ) -> _Stream:
        try:
            with self._lock:
                raw = make(device=device.number, dtype="int16", callback=call, **asked)
                stream = _Stream(self._library, name, raw)
                self._open.add(stream)
                return stream
        except (self._library.PortAudioError, ValueError) as error:
            raise AudioError(f"The {name} {device.name} cannot be used: {error}") from None


class _Stream:
    """A stream in either direction."""

    def __init__(self, library: Any, name: str, stream: Any) -> None:
        self.is_open = True
        self.latency_seconds = float(stream.latency)
        self._library = library
        self._name = name
        self._stream = stream

    @property
    def is_active(self) -> bool:
        return bool(self._stream.active)

    def start(self) -> None:
        self._guarded(self._stream.start)

    def stop(self) -> None:
        self._guarded(self._stream.abort)

    def close(self) -> None:
        try:
            self._guarded(self._stream.close)
        finally:
            self.is_open = False  # not sooner: `refresh` must not come in between

    def _guarded(self, action: Callable[[], None]) -> None:
        try:
            action()
        except self._library.PortAudioError as error:
            raise AudioError(f"The {self._name} failed: {error}") from None
