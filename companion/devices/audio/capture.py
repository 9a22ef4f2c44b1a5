"""A microphone of this machine, which may be missing, muted or pulled out, and come back."""

import queue
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Protocol

from companion.base.errors import AudioError
from companion.base.lines import Tell
from companion.devices.audio.backoff import Backoff, Clock
from companion.devices.audio.clip import mono
from companion.devices.audio.devices import Device, Stream, choose, end, let_go
from companion.devices.audio.microphone import Block, Resampler

LATENCY_SECONDS = 0.05
QUEUE_BLOCKS = 500
"""Some seconds of sound; whoever listens more slowly than that loses some, and is told."""
DEAD_SECONDS = 1.0
"""A running microphone that gives no block for so long has gone."""
MUTE_SECONDS = 5.0
"""Exact zeros for so long come from no open microphone, however quiet the room."""
TICK_SECONDS = 0.1

NO_INPUT = "No microphone was found; plug one in or switch it on."
TRIED_AGAIN = "It is tried again by itself."

Take = Callable[[bytes, bool], None]
"""Takes 16-bit samples, channels interleaved, and whether some before them were lost."""


class InputSystem(Protocol):
    """What opens microphones; the real one is `companion.devices.audio.portaudio.PortAudio`."""

    def inputs(self) -> list[Device]:
        """Return the microphones known now, the usual one marked."""

    def open_input(
        self, device: Device, channels: int, latency_seconds: float, take: Take
    ) -> Stream:
        """Return a stream at the device's own rate, not yet started, or raise AudioError."""

    def refresh(self) -> None:
        """Look for devices anew, unless a stream is open, which would lose it."""


class DeviceMicrophone:
    """A microphone of this machine, opened, watched and closed by the thread that takes blocks.

    One that is missing, goes away, or gives nothing but zeros is told once; it is opened again
    after 1, 2, 5, 10 and then every 30 seconds, and told once when it is heard again.

    Args:
        system: gives the sound system, always the same; it may raise AudioError.
        device: the microphone by name or number; empty: the usual one.
        report: told of each change, as one line.
        meanwhile: told with what is wrong.
    """

    is_live = True

    def __init__(
        self,
        system: Callable[[], InputSystem],
        device: str,
        report: Tell,
        clock: Clock = time.monotonic,
        *,
        meanwhile: str = TRIED_AGAIN,
    ) -> None:
        self._system = system
        self._device = device
        self._report = report
        self._meanwhile = meanwhile
        self._clock = clock
        self._backoff = Backoff(clock)
        self._trouble: type[AudioError] | None = None
        self._opened: _Opened | None = None
        self._closed = threading.Event()

    def blocks(self) -> Iterator[Block]:
        """Yield sound; empty blocks while there is none."""
        try:
            while not self._closed.is_set():
                yield self._block()
        finally:
            self._let_go()

    def skip(self) -> None:
        """Drop what is waiting."""
        if self._opened is not None:
            self._opened.skip()

    def close(self) -> None:
        """End `blocks`; the thread that takes them lets the device go."""
        self._closed.set()

    def _block(self) -> Block:
        try:
            if self._opened is None:
                if not self._backoff.is_due:
                    self._closed.wait(TICK_SECONDS)
                    return Block(b"")
                self._open()
            return self._next()
        except AudioError as error:
            self._lose(error)
            return Block(b"", is_after_gap=True)

    def _open(self) -> None:
        system = self._system()
        if self._trouble:
            system.refresh()
        device = choose(system.inputs(), self._device, NO_INPUT)
        self._opened = _Opened(system, device, self._clock)

    def _next(self) -> Block:
        assert self._opened is not None  # noqa: S101 - `_block` opened it
        block, now = self._opened.block(), self._clock()
        if now - self._opened.taken_at > DEAD_SECONDS:
            raise AudioError(f"The microphone {self._opened.device.name} has gone.")
        if now - self._opened.sounded_at > MUTE_SECONDS:
            raise _MuteError(
                f"The microphone {self._opened.device.name} gives no sound at all; "
                "it may be switched off or muted."
            )
        if self._trouble and self._opened.has_sounded:
            self._trouble = None
            self._report(f"The microphone is heard again: {self._opened.device.name}.")
        if self._opened.has_sounded:
            self._backoff.note_success()
        return block

    def _lose(self, error: AudioError) -> None:
        self._backoff.note_failure()
        self._let_go()
        if self._trouble is not type(error):
            self._trouble = type(error)
            self._report(f"{error} {self._meanwhile}")

    def _let_go(self) -> None:
        opened, self._opened = self._opened, None
        if opened is not None:
            let_go(opened.stream)


class _MuteError(AudioError):
    """A microphone that is there but gives only zeros."""


class _Opened:
    """A microphone that is open, and what has come from it."""

    def __init__(self, system: InputSystem, device: Device, clock: Clock) -> None:
        self.device = device
        self.has_sounded = False
        self.taken_at = self.sounded_at = clock()
        self._clock = clock
        self._channels = 1
        self._taken: queue.Queue[Block] = queue.Queue(QUEUE_BLOCKS)
        self._is_torn = True  # whatever came before this stream is another sound
        self._is_skipped = False
        self._resampler = Resampler(device.rate)
        try:
            self.stream = self._started(system)
        except AudioError:
            if device.inputs == 1:
                raise
            self._channels = device.inputs  # some devices give all their channels or none
            self.stream = self._started(system)

    def _started(self, system: InputSystem) -> Stream:
        stream = system.open_input(self.device, self._channels, LATENCY_SECONDS, self.take)
        try:
            stream.start()
        except AudioError:
            end(stream)
            raise
        return stream

    def take(self, pcm16: bytes, is_after_gap: bool) -> None:  # noqa: FBT001 - a callback's
        """Run in the audio callback: put sound in the queue, and note where some was lost."""
        try:
            self._taken.put_nowait(Block(pcm16, is_after_gap or self._is_torn))
            self._is_torn = False
        except queue.Full:
            self._is_torn = True

    def skip(self) -> None:
        with suppress(queue.Empty):
            while True:
                self._taken.get_nowait()
                self._is_skipped = True

    def block(self) -> Block:
        """Wait a moment for the next block; return it mono at 16 kHz."""
        try:
            pcm16, is_after_gap = self._taken.get(timeout=TICK_SECONDS)
        except queue.Empty:
            return Block(b"")
        self.taken_at = self._clock()
        if any(pcm16):
            self.has_sounded = True
            self.sounded_at = self.taken_at
        is_after_gap, self._is_skipped = is_after_gap or self._is_skipped, False
        return Block(self._resampler.resampled(mono(pcm16, self._channels)), is_after_gap)
