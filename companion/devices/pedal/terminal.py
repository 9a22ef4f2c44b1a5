"""Keys of the terminal in front of the weaver as a source of commands."""

import contextlib
import math
import os
import select
import sys
import threading
import time
from contextlib import AbstractContextManager

from companion.base.errors import PedalError
from companion.base.lines import Tell
from companion.devices.pedal.decode import KeyDecoder
from companion.devices.pedal.keys import Emit
from companion.devices.pedal.typed import Keyboard

ESCAPE_SECONDS = 0.05
"""How long an escape character waits for the rest of a sequence before it is the Escape key."""
PASTED_KEYS = 40
"""So many keys at once are text that was pasted: nobody types them. Our own choice."""
PASTE_SECONDS = 0.5
"""Keys that follow pasted text so soon are more of it. Our own choice."""

_CHUNK_BYTES = 1024


class _Keys:
    """What the keys of any terminal have in common."""

    name = "key"

    def __init__(self, keyboard: Keyboard, show: Tell) -> None:
        self._keyboard = keyboard
        self._show = show
        self._decoder = KeyDecoder()
        self._pasted_at = -math.inf

    def _pass_on(self, keys: list[str], emit: Emit) -> None:
        """Emit what keys, and the time that has passed, come to; show what is no command."""
        now = time.monotonic()
        keys = [] if self._is_pasted(keys, now) else keys
        outputs = [output for key in keys for output in self._keyboard.press(key, now)]
        for output in outputs + self._keyboard.tick(now):
            (emit if output.kind == "command" else self._show)(output.text)

    def _is_pasted(self, keys: list[str], now: float) -> bool:
        """Say, of keys that would act one by one, whether they came at once; tell it where new."""
        is_more = now - self._pasted_at < PASTE_SECONDS
        is_pasted = bool(keys) and (is_more or len(keys) > PASTED_KEYS)
        if not is_pasted or self._keyboard.takes_text(keys[0]):
            return False
        if not is_more:
            self._show(
                "Expected keys one by one, but many came at once, as when text is pasted, and none "
                "of them was taken. Begin a line of words with a colon."
            )
        self._pasted_at = now
        return True


if sys.platform == "win32":  # not tested: no Windows machine was at hand
    import msvcrt

    _POLL_SECONDS = 0.01
    _SPECIAL_KEYS = {
        "H": "up",
        "P": "down",
        "K": "left",
        "M": "right",
        "G": "home",
        "O": "end",
        "I": "page up",
        "Q": "page down",
        **{chr(0x3B + n): f"f{1 + n}" for n in range(10)},
        **{chr(0x54 + n): f"f{13 + n}" for n in range(10)},
    }

    class TerminalKeys(_Keys):
        """Keys of a Windows console."""

        def __init__(self, keyboard: Keyboard, show: Tell) -> None:
            super().__init__(keyboard, show)
            self._stopped = threading.Event()

        def mode(self) -> AbstractContextManager[object]:
            """Return a context in which keys come one by one; a console needs none."""
            return contextlib.nullcontext()

        def stop(self) -> None:
            """Make `run` return soon."""
            self._stopped.set()

        def run(self, emit: Emit) -> None:
            """Emit command text until stopped."""
            while not self._stopped.wait(_POLL_SECONDS):
                while msvcrt.kbhit():
                    self._pass_on(self._read(), emit)
                self._pass_on([], emit)

        def _read(self) -> list[str]:
            character = msvcrt.getwch()
            if character in {"\x00", "\xe0"}:
                return [_SPECIAL_KEYS.get(msvcrt.getwch(), "unknown")]
            return self._decoder.feed(character.encode()) or self._decoder.flush()

else:
    from companion.devices.pedal.character_mode import CharacterMode

    class TerminalKeys(_Keys):
        """Keys of a POSIX terminal; PedalError where the descriptor is none."""

        def __init__(self, keyboard: Keyboard, show: Tell, descriptor: int = 0) -> None:
            if not os.isatty(descriptor):
                raise PedalError(
                    "Expected a terminal to read keys from, but input comes from a file or pipe. "
                    "Start it in a terminal, or give commands as lines."
                )
            super().__init__(keyboard, show)
            self._descriptor = descriptor
            self._wake_read, self._wake_write = os.pipe()

        def mode(self) -> AbstractContextManager[object]:
            """Return a context in which keys come one by one; enter it in the main thread."""
            return CharacterMode(self._descriptor)

        def stop(self) -> None:
            """Make `run` return soon; safe from any thread and more than once."""
            with contextlib.suppress(OSError):
                os.write(self._wake_write, b"x")

        def run(self, emit: Emit) -> None:
            """Emit command text until stopped or until the terminal is gone."""
            try:
                while (keys := self._next_keys()) is not None:
                    self._pass_on(keys, emit)
            finally:
                os.close(self._wake_read)
                os.close(self._wake_write)

        def _next_keys(self) -> list[str] | None:
            """Wait for keys or for a deadline; None at the end."""
            ready, _, _ = select.select(
                [self._descriptor, self._wake_read], [], [], self._patience()
            )
            if self._wake_read in ready:
                return None
            if not ready:
                return self._decoder.flush()
            try:
                data = os.read(self._descriptor, _CHUNK_BYTES)
            except OSError:  # the terminal was closed under us
                data = b""
            return self._decoder.feed(data) if data else None

        def _patience(self) -> float | None:
            wait = self._keyboard.deadline() - time.monotonic()
            if self._decoder.is_waiting:
                wait = min(wait, ESCAPE_SECONDS)
            return None if wait == math.inf else max(0.0, wait)
