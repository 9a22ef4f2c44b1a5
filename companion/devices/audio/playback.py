"""Clips to the loudspeaker: at once, cut at once, with a true end, and back when it comes back."""

import threading
import time
from collections.abc import Callable
from typing import Protocol

from companion.base.errors import AudioError
from companion.base.lines import Tell
from companion.devices.audio.backoff import Backoff
from companion.devices.audio.clip import Clip, silence
from companion.devices.audio.devices import CLOSE_SECONDS, OutputStream, SoundSystem, choose, let_go
from companion.devices.audio.feed import RATE, SampleFeed

LATENCY_SECONDS = 0.05
"""Asked of the loudspeaker; less lets a busy machine run it dry."""
CALM_LATENCY_SECONDS = 0.2
"""Asked after the sound stuttered."""
DEAD_SECONDS = 1.0
"""A running loudspeaker that takes no sound for so long has gone."""
REVIVE_SECONDS = 10.0
"""A stream that stalls again within so long is not opened again at once."""
WAKE_SECONDS = 0.2
"""A waking loudspeaker may swallow so much."""
TICK_SECONDS = 0.1
POLL_SECONDS = 0.005


class Playback(Protocol):
    """Where clips go to be heard."""

    def queue(self, clip: Clip) -> None:
        """Play the clip after those already queued; without a loudspeaker it is dropped."""

    def cancel(self) -> None:
        """Drop all that is queued and fall silent within one block."""

    @property
    def is_busy(self) -> bool:
        """Whether anything queued has not reached the ear yet."""

    def wait(self, timeout: float) -> bool:
        """Wait for silence at most so many seconds; tell whether it came."""

    def close(self) -> None:
        """Let the loudspeaker go; doing it twice does no harm."""


class DevicePlayback:
    """Plays on a loudspeaker of this machine; one thread of its own opens, watches and closes it.

    A stream that stalls is opened again in silence, once in 10 seconds. A loudspeaker that is
    missing, or goes away, is told once; it is tried again after 1, 2, 5, 10
    and then every 30 seconds, and told once when it is back. What is queued meanwhile is dropped:
    speech that comes late misleads.

    Args:
        system: gives the sound system, always the same; it may raise AudioError.
        device: the loudspeaker by name or number; empty: the usual one.
        report: told of each change, as one line.
        keep_awake_seconds: how long silence is played on after the last sound.
        wake_seconds: silence before the first sound after a rest.
    """

    def __init__(
        self,
        system: Callable[[], SoundSystem],
        device: str,
        report: Tell,
        *,
        keep_awake_seconds: float,
        wake_seconds: float = WAKE_SECONDS,
    ) -> None:
        self._system = system
        self._device = device
        self._report = report
        self._keep_awake_seconds = keep_awake_seconds
        self._wake_seconds = wake_seconds
        self._feed = SampleFeed()
        self._latency_seconds = LATENCY_SECONDS
        self._stream: OutputStream | None = None
        self._is_running = False
        self._is_down = False
        self._revived_at = -REVIVE_SECONDS
        self._is_closed = False
        self._backoff = Backoff()
        self._tried = threading.Event()
        self._change = threading.Event()
        self._owner = threading.Thread(target=self._own, name="loudspeaker", daemon=True)
        self._owner.start()

    def wait_tried(self, timeout: float) -> bool:
        """Wait until the loudspeaker has been tried once; tell whether it plays."""
        self._tried.wait(timeout)
        return not self._is_down

    def queue(self, clip: Clip) -> None:
        """Play the clip next."""
        if self._is_down or self._is_closed:
            return
        if not self._is_running and not self._feed.has_sound:
            self._feed.add(silence(self._wake_seconds, self._feed.rate))
        self._feed.add(clip)
        if not self._is_running:
            self._change.set()

    def cancel(self) -> None:
        """Fall silent."""
        self._feed.cut()

    @property
    def is_busy(self) -> bool:
        """Whether anything has not reached the ear yet."""
        return self._feed.silent_seconds < 0

    def wait(self, timeout: float) -> bool:
        """Wait for silence."""
        end = time.monotonic() + timeout
        while self.is_busy:
            if time.monotonic() >= end:
                return False
            time.sleep(POLL_SECONDS)
        return True

    def close(self) -> None:
        """Let the loudspeaker go."""
        self._is_closed = True
        self._change.set()
        self._owner.join(2 * CLOSE_SECONDS)
        self._feed.clear()

    def _own(self) -> None:
        while not self._is_closed:
            try:
                self._tend()
            except AudioError as error:
                self._lose(str(error))
            self._tried.set()
            self._change.wait(TICK_SECONDS)
            self._change.clear()
        self._let_go()

    def _tend(self) -> None:
        stream = self._stream
        if stream is None:
            if self._backoff.is_due:
                self._open()
        elif not self._is_running:
            if self._feed.has_sound:
                self._start(stream)
        elif time.monotonic() - self._feed.taken_at > DEAD_SECONDS or not stream.is_active:
            self._revive()
        elif self._feed.is_stuttering and not self._feed.has_sound:
            self._calm()
        elif self._feed.silent_seconds > self._keep_awake_seconds:
            self._is_running = False
            stream.stop()

    def _open(self) -> None:
        system = self._system()
        if self._tried.is_set():
            system.refresh()
        device = choose(system.outputs(), self._device)
        for rate in (RATE, device.rate):
            try:
                stream = system.open_output(device, rate, self._latency_seconds, self._feed.take)
                break
            except AudioError:
                if rate == device.rate:
                    raise
        self._feed.serve(rate, stream.latency_seconds)
        self._stream = stream
        self._start(stream)
        self._backoff.note_success()
        if self._is_down:
            self._is_down = False
            self._report(f"Sound is back: {device.name}.")

    def _revive(self) -> None:
        """Open a stream again that has stalled; what is queued is heard after a pause.

        PortAudio's ALSA streams were seen to stall for good on a machine with too much to do, so
        that is tried first and in silence; if it does not help, the loudspeaker has gone.
        """
        gone = AudioError("The loudspeaker has gone")
        now = time.monotonic()
        if now - self._revived_at < REVIVE_SECONDS:
            raise gone
        self._revived_at = now
        self._latency_seconds = CALM_LATENCY_SECONDS
        self._let_go()
        try:
            self._open()
        except AudioError:
            raise gone from None

    def _start(self, stream: OutputStream) -> None:
        self._feed.taken_at = time.monotonic()
        stream.start()
        self._is_running = True

    def _calm(self) -> None:
        """Open again, once, with more time in hand."""
        self._feed.is_stuttering = False
        if self._latency_seconds != CALM_LATENCY_SECONDS:
            self._latency_seconds = CALM_LATENCY_SECONDS
            self._let_go()
            self._open()

    def _lose(self, fault: str) -> None:
        self._backoff.note_failure()
        if not self._is_down:
            self._is_down = True
            fault = fault.rstrip(".")
            self._report(f"{fault}. All is printed meanwhile; sound is tried again by itself.")
        self._feed.clear()
        self._let_go()

    def _let_go(self) -> None:
        stream, self._stream, self._is_running = self._stream, None, False
        if stream is not None:
            let_go(stream)
